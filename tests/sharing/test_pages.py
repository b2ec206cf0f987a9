"""What a vet reads: pages that load nothing, and paper with each horse on one page, in reading order."""

import re
from datetime import date
from html.parser import HTMLParser

import polars as pl
import pytest
from pypdf import PdfReader

from reports.share import write_pages, write_pdf
from reports.share.pdf import refusing
from reports.share.shoe_lines import shoe_lines
from reports.share.tables_of_horse import on_the_feet
from reports.share.views import summary_of
from schemas.shared import SharedShoes
from tests.store.drawn import rows, typed

CAUTIONS = ("Records are observations, not diagnoses", "Call the vet", "Small numbers mislead", "law on who may trim")


class Tags(HTMLParser):
    def __init__(self):
        super().__init__()
        self.tags: list[tuple[str, dict]] = []

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))


def tags_of(path) -> list[tuple[str, dict]]:
    parser = Tags()
    parser.feed(path.read_text(encoding="utf-8"))
    return parser.tags


@pytest.fixture(scope="module")
def pages(tables, tmp_path_factory):
    folder = tmp_path_factory.mktemp("pages")
    return write_pages(tables, folder)


def test_there_is_a_cover_and_a_page_a_horse_whose_names_are_numbers(pages):
    assert [path.name for path in pages] == ["index.html", "horse-1.html", "horse-2.html", "horse-3.html"]


def test_no_page_holds_a_script_or_an_address_or_a_style_that_the_policy_refuses(pages):
    for path in pages:
        for tag, attributes in tags_of(path):
            assert tag not in ("script", "iframe", "object", "form", "img")
            assert not [name for name in attributes if name.startswith("on") or name == "style"]
            assert not re.match(r"(https?:)?//", attributes.get("href") or attributes.get("src") or "")
        policy = next(a["content"] for t, a in tags_of(path) if a.get("http-equiv") == "Content-Security-Policy")
        assert policy.startswith("default-src 'none'; style-src 'sha256-")


def test_the_style_sheet_is_the_one_the_policy_names(pages):
    from reports.share.pages import policy

    for path in pages:
        html = path.read_text(encoding="utf-8")
        style = re.search(r"<style>(.*?)</style>", html, re.DOTALL)[1]
        assert policy(style).split("'")[3] in html


def test_words_from_the_record_are_escaped(pages):
    html = pages[1].read_text(encoding="utf-8")
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in html
    assert "<script" not in html


@pytest.mark.parametrize("words", CAUTIONS)
def test_every_page_that_names_a_horse_carries_the_cautions(pages, words):
    assert all(words in path.read_text(encoding="utf-8") for path in pages)


@pytest.mark.parametrize("words", CAUTIONS)
def test_every_sheet_of_paper_that_names_a_horse_carries_the_cautions(paper, words):
    assert all(words in " ".join(page.extract_text().split()) for page in paper[1].pages)


def test_the_cover_tells_period_scale_limits_whom_to_ask_and_what_to_recall(pages):
    html = pages[0].read_text(encoding="utf-8")
    for words in ("3 horses", "The forge", "no published scale has been validated", "±1.6°", "1.5°", "Garwood 1936",
                  "Wilson 1927", "shoeing-summary-2025-01-01-no1", "at least five owners"):  # fmt: skip
        assert words in html, words


def test_a_horses_own_figures_stand_on_page_and_paper_with_their_ranges(tables, pages, paper):
    from reports.wording import percent_span, span

    for number, row in enumerate(tables["horses"].to_dicts(), start=1):
        html = pages[number].read_text(encoding="utf-8")
        sheet = " ".join(paper[1].pages[number].extract_text().split())
        for limits in (f"({span(row['per_1000_low'], row['per_1000_high'], 2)})",
                       f"({percent_span(row['bruised_low'], row['bruised_high'])})"):  # fmt: skip
            assert limits in html
            assert limits in sheet


def test_every_picture_has_words_for_who_cannot_see_it(pages):
    for path in pages[1:]:
        html = path.read_text(encoding="utf-8")
        described = re.findall(r'<svg [^>]*role="img"[^>]*><title>[^<]{20,}</title>', html)
        assert len(described) == html.count("<svg ") == 4


@pytest.fixture(scope="module", params=["A4", "Letter"])
def paper(request, tables, tmp_path_factory):
    return request.param, PdfReader(write_pdf(tables, tmp_path_factory.mktemp("paper") / "a.pdf", request.param))


def test_the_paper_is_of_the_size_asked_for(paper):
    size, pdf = paper
    width, height = (float(length) for length in pdf.pages[0].mediabox[2:])
    assert (round(width), round(height)) == {"A4": (595, 842), "Letter": (612, 792)}[size]


def test_the_paper_is_tagged_has_a_language_and_says_it_is_universally_accessible(paper):
    root = paper[1].trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert b"pdfuaid" in root["/Metadata"].get_object().get_data()
    figures = [node for node in _structure(root["/StructTreeRoot"]) if node.get("/S") == "/Figure"]
    assert len(figures) == 4 * 3
    assert all(len(str(node["/Alt"])) > 20 for node in figures)


def _structure(node):
    node = node.get_object() if hasattr(node, "get_object") else node
    if isinstance(node, dict):
        yield node
        children = node.get("/K", [])
        for child in children if isinstance(children, list) else [children]:
            yield from _structure(child)


def test_nothing_is_told_in_the_papers_metadata_but_its_title(paper):
    assert set(paper[1].metadata) <= {"/Title", "/Producer"}


def test_each_horse_has_one_page_on_which_every_fact_stands_in_reading_order(paper):
    _, pdf = paper
    texts = [page.extract_text() for page in pdf.pages]
    own = [text for text in texts if text.startswith("Plain Horse")]
    assert len(texts) == 4
    assert len(own) == 3
    heads = ("Microchip", "Feet not looked at", "Shoes in time", "On the feet", "Lost shoes", "What changed",
             "Visits and intervals", "Angles and toes", "Left minus right", "Bruises", "Bruises found",
             "Before you act")  # fmt: skip
    for text in own:
        places = [text.find(head) for head in heads]
        assert -1 not in places, heads[places.index(-1)]
        assert places == sorted(places)


def test_the_paper_uses_the_one_named_font(paper):
    fonts = {
        str(font.get_object()["/BaseFont"])
        for page in paper[1].pages
        for font in page["/Resources"].get("/Font", {}).values()
    }
    assert fonts
    assert all("DejaVu-Sans" in font for font in fonts), fonts


def test_the_same_summary_gives_the_same_paper(tables, tmp_path):
    one = write_pdf(tables, tmp_path / "one.pdf", "A4").read_bytes()
    assert write_pdf(tables, tmp_path / "two.pdf", "A4").read_bytes() == one


def test_a_page_that_asks_for_anything_is_refused():
    from weasyprint import HTML
    from weasyprint.urls import FatalURLFetchingError

    page = HTML(string="<img src='file:///etc/hostname' alt='x'>", url_fetcher=refusing())
    with pytest.raises(FatalURLFetchingError, match="loads nothing"):
        page.write_pdf()


SHOES = """
    horse_no | foot | fitted_on  | off_on     | end_reason | shoe_style | shoe_material
    1        | LF   | 2025-01-01 | 2025-02-12 | renewed    | plain      | steel
    1        | LF   | 2025-02-12 | 2025-03-20 | running    | egg_bar    | aluminium
    1        | RF   | 2025-01-01 | 2025-03-01 | running    | plain      | steel
    1        | LH   | 2025-01-01 |            | lost       | rim        | steel
    1        | RH   | 2025-01-01 | 2025-03-02 | taken_off  | rim        | steel
"""


def test_what_is_on_each_foot_is_told_with_style_and_material_and_a_bare_one_with_since_when():
    shoes = [row | {"lost_by": date(2025, 2, 3)} for row in typed(SharedShoes, rows(SHOES)).to_dicts()]
    found = on_the_feet(shoes, date(2025, 3, 20)).rows
    assert found == [
        ("Left fore", "on", "2025-02-12", "Egg bar", "Aluminium"),
        ("Right fore", "not heard of since 2025-03-01", "2025-01-01", "Plain", "Steel"),
        ("Left hind", "lost by 2025-02-03, none since", "–", "–", "–"),
        ("Right hind", "bare since 2025-03-02", "–", "–", "–"),
    ]
    none = on_the_feet([], date(2025, 3, 20)).rows
    assert none[3] == ("Right hind", "no shoe on record", "–", "–", "–")


SINCE = date(2300, 1, 1)


def emptied(tables):
    """The same of a horse of which nothing but the shoes on now is on record since a late day."""
    lists = ("visits", "shoes", "losses", "bruise_looks", "readings", "gaps", "changes")
    counts = ("visits", "feet_seen", "looks", "bruised", "not_looked", "readings", "shoes", "losses")
    return tables | {name: tables[name].clear() for name in lists} | {
        "cover": tables["cover"].with_columns(since=pl.lit(SINCE)),
        "horses": tables["horses"].with_columns(pl.lit(0, pl.Int64).alias(name) for name in counts),
    }  # fmt: skip


def test_a_summary_that_begins_on_a_day_says_none_since_then_and_never_none_on_record(tables, tmp_path):
    (_, page, *_) = write_pages(emptied(tables), tmp_path)
    html = page.read_text(encoding="utf-8")
    sheet = PdfReader(write_pdf(emptied(tables), tmp_path / "a.pdf", "A4")).pages[1].extract_text()
    paper = " ".join(sheet.split())
    for text in (html, paper):
        assert "Lost shoes: none since 1 January 2300" in text
        assert "Bruises found: none since 1 January 2300" in text
        assert "Since 1 January 2300: no shoe was on." in text
        assert "nothing before 1 January 2300 but the shoes on the feet now" in text, "on each horse's own facts"
        assert "none on record" not in text
        assert "Nothing on record yet" not in text
        assert "no shoe on record" not in text, "the shoes on now are told from the whole record"
    assert html.count("<svg ") == 2, "no picture of angles or toes where there is no reading"


def test_a_summary_of_the_whole_record_says_none_on_record(tables, tmp_path):
    whole = emptied(tables) | {"cover": tables["cover"]}
    (_, page, *_) = write_pages(whole, tmp_path)
    html = page.read_text(encoding="utf-8")
    assert "Lost shoes: none on record." in html
    assert "since" not in html.partition('<dl class="facts">')[2].partition("</dl>")[0]


def test_a_group_of_which_nothing_is_told_has_no_title_above_nothing(tables, tmp_path):
    index = write_pages(tables | {"peers": tables["peers"].clear()}, tmp_path)[0].read_text(encoding="utf-8")
    assert "by group" not in index
    assert "Shoes lost and bruised looks are not shown for " in index


@pytest.mark.parametrize(
    ("same", "told"),
    [
        ([None, None], "found again at the next look 2 times, the site not told."),
        ([True, False], "found again at the next look 2 times, 1 of them at the same site."),
        ([True, None, None], "3 times, at the same site in 1 of the 1 time that the site was told."),
        ([], "%)."),
    ],
)
def test_a_bruise_that_came_back_is_at_the_same_site_only_where_sites_were_told(tables, same, told):
    from reports.share.views import _bruises_said

    looks = [{"again": True, "same_site_again": one} for one in same]
    assert f"{told} Not looked at: " in _bruises_said(tables["horses"].to_dicts()[0], looks, [], "")


def test_a_long_word_is_broken_and_runs_off_no_page_and_no_sheet(tables, tmp_path):
    from reports.share.pages import read

    assert re.search(r"\.ask[^{]*\{overflow-wrap:anywhere", read("share.css"))
    asks = tables["asks"].with_columns(question=pl.lit("https://example.org/" + "x" * 400))
    pdf = PdfReader(write_pdf(tables | {"asks": asks}, tmp_path / "a.pdf", "A4"))
    text = pdf.pages[1].extract_text()
    longest = max(len(run) for run in re.findall("x+", text))
    assert 50 < longest < 200


def test_an_arrow_is_drawn_only_where_a_shoe_was_on_that_day():
    shoes = typed(SharedShoes, rows(SHOES)).to_dicts()
    assert shoe_lines(shoes, [], (date(2025, 1, 1), date(2025, 3, 20))).count("›") == 1


def test_the_words_of_the_bruise_map_are_read_on_paper_and_on_a_narrow_screen(pages):
    """Half a sheet of Letter less its margin is 252 points across; a screen of 390 leaves 330 pixels."""
    html = pages[1].read_text(encoding="utf-8")
    picture = next(one for one in re.findall(r"<svg.*?</svg>", html, re.DOTALL) if "Bruises by site" in one)
    across = float(re.search(r'viewBox="0 0 (\d+)', picture)[1])
    sizes = [float(size) for size in re.findall(r'font-size="([\d.]+)"', picture)]
    assert len(sizes) >= 8
    assert min(sizes) * 252 / across >= 8
    assert min(sizes) * 330 / across >= 10


def test_the_words_of_the_other_pictures_are_at_least_eight_points_on_paper(tables):
    for name in ("shoes", "angles", "toes"):
        picture = summary_of(tables).horses[0].sheet[name]
        across = float(re.search(r'viewBox="0 0 (\d+)', picture)[1])
        sizes = [float(size) for size in re.findall(r'font-size="([\d.]+)"', picture)]
        assert min(sizes) * 521 / across >= 8


def test_every_picture_fits_a_telephone_whole_so_that_the_newest_is_seen_without_scrolling(pages):
    """A screen of 390 leaves 358 pixels; a picture is as wide as that and its words can be read."""
    html = pages[1].read_text(encoding="utf-8")
    style = re.search(r"<style>(.*?)</style>", html, re.DOTALL)[1]
    assert not re.search(r"\.chart\{[^}]*min-width", style)
    assert not re.search(r"figure[^{]*\{[^}]*overflow", style)
    pictures = re.findall(r"<svg.*?</svg>", html, re.DOTALL)
    assert len(pictures) == 4
    for picture in pictures:
        across = float(re.search(r'viewBox="0 0 (\d+)', picture)[1])
        sizes = [float(size) for size in re.findall(r'font-size="([\d.]+)"', picture)]
        assert min(sizes) * 358 / across >= 10
