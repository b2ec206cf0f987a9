"""A chart becomes an SVG that says the same every time and holds nothing but the picture."""

from xml.etree import ElementTree

import altair as alt
import pytest

from reports.drawing import Chart, Drawn, drawable, inline_data, to_svg
from reports.site import PAGES
from tests.reports.practice import ABOUT, practice, results


def charts(tables: dict) -> list[Chart]:
    return [chart for make in PAGES for section in make(tables, ABOUT).sections for chart in section.chart]


def clipped(name: str) -> Chart:
    """A chart whose SVG needs an id: its line is cut at the edge."""
    x = alt.X(field="x", type="quantitative", scale=alt.Scale(domain=[0, 1]))
    picture = alt.Chart(inline_data([{"x": 0, "y": 0}, {"x": 2, "y": 1}])).mark_line(clip=True)
    return Chart(name, picture.encode(x=x, y=alt.Y(field="y", type="quantitative")), "A line that leaves its field.")


def test_every_chart_keeps_the_grammar_of_vega_lite():
    made = [chart for chart in charts(practice()) if not isinstance(chart.picture, Drawn)]
    assert len(made) > 10
    for chart in made:
        chart.picture.to_dict(validate=True)


def test_a_picture_drawn_by_hand_is_sound_xml_with_the_frame_of_all_charts():
    made = [chart for chart in charts(practice()) if isinstance(chart.picture, Drawn)]
    assert {"factors", "fit-by-pace", "watch", "guide", "bruises-end", "drift-feet", "rate-yard"} <= {
        chart.name for chart in made
    }
    for chart in made:
        svg = ElementTree.fromstring(to_svg(chart))
        assert (svg.get("class"), svg.get("role"), svg.get("aria-label")) == ("chart", "img", chart.alt)
        assert svg.get("viewBox") == f"0 0 {chart.picture.width:g} {chart.picture.height:g}"
        assert not [element for element in svg.iter() if "style" in element.attrib or "font-family" in element.attrib]


def test_a_chart_against_the_grammar_is_refused():
    with pytest.raises(alt.utils.schemapi.SchemaValidationError):
        alt.Chart(inline_data([])).mark_line(interpolate="wavy").to_dict(validate=True)


def test_no_two_charts_of_a_page_share_a_name():
    for make in PAGES:
        names = [chart.name for section in make(practice(), ABOUT).sections for chart in section.chart]
        assert len(set(names)) == len(names)


def test_nothing_to_draw_makes_no_chart():
    assert charts(results()) == []


def test_ids_bear_the_name_of_the_chart_and_do_not_count_on_from_chart_to_chart():
    first, second = to_svg(clipped("lost")), to_svg(clipped("lost"))
    assert first == second
    ids = [element.attrib["id"] for element in ElementTree.fromstring(first).iter() if "id" in element.attrib]
    assert ids == ["lost-1"]
    assert 'clip-path="url(#lost-1)"' in first
    assert to_svg(clipped("kept")) == first.replace("lost-1", "kept-1")


def test_the_svg_carries_no_style_no_class_but_its_own_and_no_font_of_its_own():
    svg = ElementTree.fromstring(to_svg(clipped("lost")))
    inner = [element for element in svg.iter() if element is not svg]
    for attribute in ("style", "class", "role", "font-family"):
        assert not [element for element in inner if attribute in element.attrib]
    assert (svg.get("class"), svg.get("role"), svg.get("aria-label")) == (
        "chart",
        "img",
        "A line that leaves its field.",
    )


@pytest.mark.parametrize(
    ("given", "drawn"),
    [
        ("Åsa “Bay” ✓ 🐎", "Åsa “Bay” ✓ 🐎"),
        ("a\x00b\x1fc", "a b c"),
        ("a\x85b\uffff", "a b "),
        (3.5, 3.5),
        (None, None),
    ],
)
def test_text_an_svg_may_not_hold_is_left_out_and_all_else_kept(given, drawn):
    assert drawable(given) == drawn
