"""A practice with a thousand horses gets pages that still open, with pictures that still can be read."""

from reports.charts.axes import SIZE, widest
from reports.charts.dots import MOST_ROWS
from reports.charts.horse_losses import MOST_HORSES, MOST_POINTS, drawn_horses
from tests.reports.parsing import every, parsed, said, table_rows
from tests.reports.practice import plain_name, practice


def pages(sites: dict) -> dict:
    return {path.stem: parsed(path) for path in sites["large"]}


def test_no_page_is_larger_than_a_megabyte(sites):
    assert max(path.stat().st_size for path in sites["large"]) < 1_000_000


def test_every_horse_is_in_a_table_and_few_are_drawn(sites):
    page = pages(sites)["horses"]
    first = table_rows(page, "Shoes lost and expected by horse; the ratio is lost over expected")
    rest = table_rows(page, "The other horses")
    assert sorted(row[0] for row in first[1:] + rest[1:]) == sorted(plain_name(place) for place in range(1000))
    bars = next(svg for svg in every(page, "svg") if svg.get("aria-label", "").startswith("Shoes lost beside"))
    assert bars.get("aria-label", "").count(" expected") <= MOST_HORSES + 1
    assert f"{1000 - 1 - MOST_POINTS} horses inside the funnel not drawn" in said(page)


def test_the_funnel_keeps_every_horse_outside_it_and_spreads_the_others():
    herd = practice(horses=1000)["horse_losses"].to_dicts()
    drawn = drawn_horses(herd)
    assert len(drawn) == MOST_POINTS
    assert len({row["horse_id"] for row in drawn}) == MOST_POINTS
    assert [row["horse_id"] for row in drawn if row["funnel"] != "inside"] == ["H0000"]
    assert min(row["expected"] for row in drawn) < 0.5
    assert max(row["expected"] for row in drawn) > 8


def test_the_yards_with_the_most_shoe_days_are_drawn_and_the_others_counted(sites):
    page = pages(sites)["lost-shoes"]
    assert len(table_rows(page, "Lost shoes by yard; the rate is losses per 1,000 shoe-days")) == 121
    assert f"{120 - MOST_ROWS} more with fewer shoe-days are in the table only." in said(page)


def test_a_long_name_is_cut_in_pictures_and_whole_in_tables(sites):
    page = {path.stem: parsed(path) for path in sites["hostile"]}["horses"]
    drawn = [element.text for svg in every(page, "svg", class_="chart") for element in svg.iter("text")]
    cut = [name for name in drawn if name and name.startswith("<script>")]
    assert cut
    assert all(name.endswith("…") for name in cut)


def test_no_letter_is_wider_than_it_is_taken_to_be():
    # advance widths of Liberation Sans, which are those of Arial, in thousandths of an em (from memory)
    for letters, em in {"i l j": 222, "f t space": 278, "I": 278, "r": 333, "a e n o": 556, "s c k": 500, "0 1 9": 556,
                        "m": 833, "w": 722, "M": 833, "W": 944, "O Q G": 778, "A B E K": 667, "C D": 722, "R U": 722,
                        "@": 1015, "%": 889}.items():  # fmt: skip
        for letter in letters.replace("space", " ").split() or " ":
            assert widest(letter) >= em / 1000 * SIZE, letter
