"""Words people choose are shown as they wrote them, and never become part of the page."""

from reports.site import write_site
from tests.reports.conftest import HOSTILE
from tests.reports.parsing import called, every, parsed, said, table_rows
from tests.reports.practice import ABOUT, horse, results


def test_a_horse_called_like_markup_is_shown_by_that_name(sites):
    page = parsed(next(path for path in sites["hostile"] if path.stem == "horses"))
    rows = table_rows(page, "Shoes lost and expected by horse; the ratio is lost over expected")
    assert rows[1][0] == f"{HOSTILE} 0"
    assert f"{HOSTILE} 0 (24 lost" in said(page)
    assert any(f"{HOSTILE} 0 24 lost" in picture.get("aria-label", "") for picture in every(page, "svg"))


def test_markup_in_names_adds_no_element_to_any_page(sites):
    for plain, hostile in zip(sites["small"], sites["hostile"], strict=True):
        tags = [sorted({element.tag for element in parsed(path).iter()}) for path in (plain, hostile)]
        assert tags[0] == tags[1]
        assert "<script" not in hostile.read_text(encoding="utf-8")


def test_yards_and_farriers_are_escaped_in_tables_and_pictures(sites):
    page = parsed(next(path for path in sites["hostile"] if path.stem == "lost-shoes"))
    told = said(page)
    assert f"{HOSTILE} Zeb Alder" in told
    assert f"{HOSTILE} Yard 1" in told


def test_a_name_with_signs_that_no_picture_may_hold_is_drawn_without_them(tmp_path):
    from random import Random

    row = {**horse(0, "Bell\x07 \x0bAsh\ufffe", Random(1))}
    page = parsed(called(write_site(results(horse_losses=[row]), ABOUT, tmp_path), "horses"))
    assert any(
        "Bell  Ash  24 lost" in picture.get("aria-label", "").replace("   ", "  ") for picture in every(page, "svg")
    )


def test_horses_that_share_a_name_are_told_apart_by_their_codes(tmp_path):
    from random import Random

    herd = [horse(0, "Star", Random(1)), horse(2, "Star", Random(2)), horse(3, "Bay", Random(3))]
    page = parsed(called(write_site(results(horse_losses=herd), ABOUT, tmp_path), "horses"))
    rows = table_rows(page, "Shoes lost and expected by horse; the ratio is lost over expected")
    assert sorted(row[0] for row in rows[1:]) == ["Bay", "Star (H0000)", "Star (H0002)"]


def test_file_names_are_escaped_in_the_foot(tmp_path):
    from dataclasses import replace

    about = replace(ABOUT, files=tuple(f"<b>{place}</b>.csv" for place in range(9)))
    page = parsed(write_site(results(), about, tmp_path)[0])
    foot = every(page, "footer")[0]
    assert [span.text for span in every(foot, "span", class_="file")][:2] == ["<b>0</b>.csv", "<b>1</b>.csv"]
    assert "and 3 more" in " ".join("".join(foot.itertext()).split())
    assert not every(page, "b")
