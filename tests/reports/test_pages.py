"""Every page of every site is sound HTML that loads nothing, runs nothing and can be read by ear and by keyboard."""

import re
from base64 import b64encode
from hashlib import sha256

import pytest

from tests.reports.parsing import called, every, parsed, said, text

SITES = ("small", "empty", "one horse", "hostile", "large")
PAGES = ("index", "due", "lost-shoes", "horses", "intervals", "bruising", "angles", "handedness", "season", "workload",
         "data")  # fmt: skip
RUNS = {"script", "iframe", "object", "embed", "form", "base", "foreignobject", "animate", "set", "audio", "video"}


@pytest.fixture(params=SITES)
def pages(request: pytest.FixtureRequest, sites: dict):
    """The pages of one site, by name, as trees."""
    return {path.stem: parsed(path) for path in sites[request.param]}


def test_a_site_is_its_pages_and_one_a_horse_and_the_front_page_comes_first(sites):
    for name, written in sites.items():
        horses = 0 if name == "empty" else 1 if name == "one horse" else 3
        expected = [f"{page}.html" for page in PAGES] + [f"horse-{number}.html" for number in range(1, horses + 1)]
        assert [path.name for path in written] == expected
        files = [] if name in ("empty", "one horse") else ["due.csv", "due.ics"]
        assert sorted(path.name for path in written[0].parent.iterdir()) == sorted(expected + files)


def test_each_page_has_a_language_a_title_of_its_own_one_heading_and_its_landmarks(pages):
    titles = []
    for name, page in pages.items():
        assert every(page, "html")[0].get("lang") == "en", name
        titles.append(text(every(page, "title")[0]))
        assert len(every(page, "h1")) == 1, name
        for landmark in ("header", "main", "footer"):
            assert len(every(page, landmark)) == 1, (name, landmark)
        assert every(page, "nav", aria_label="Pages"), name
        skip = every(page, "a", class_="skip")[0]
        assert skip.get("href") == "#" + every(page, "main")[0].get("id", "none"), name
    assert len(set(titles)) == len(pages)


def test_the_page_one_is_on_is_marked_in_the_navigation(pages):
    for name, page in pages.items():
        current = [
            (link.get("href"), link.get("aria-current")) for link in every(page, "a") if link.get("aria-current")
        ]
        assert current == [("horses.html", "true") if name.startswith("horse-") else (f"{name}.html", "page")]


def test_the_policy_comes_before_the_style_it_knows_by_its_hash_and_allows_nothing_else(sites):
    for written in sites.values():
        for path in written:
            page = parsed(path)
            head = [element.tag for element in every(page, "head")[0]]
            policy = every(page, "meta", http_equiv="Content-Security-Policy")[0].get("content")
            sheets = re.findall(r"<style>(.*?)</style>", path.read_text(encoding="utf-8"), re.DOTALL)
            digests = [b64encode(sha256(sheet.encode()).digest()).decode() for sheet in sheets]
            assert head.index("style") > 1
            assert len(digests) == 1
            style = f"style-src 'sha256-{digests[0]}'"
            assert policy == f"default-src 'none'; {style}; img-src data:; base-uri 'none'; form-action 'none'"


def test_nothing_is_loaded_and_nothing_runs(pages):
    for name, page in pages.items():
        for element in page.iter():
            assert element.tag not in RUNS, (name, element.tag)
            for attribute, value in element.attrib.items():
                assert not attribute.startswith("on"), (name, attribute)
                assert attribute not in ("style", "src", "srcset"), (name, attribute)
                if attribute in ("href", "xlink:href"):
                    known = {f"{page}.html" for page in pages} | {"due.csv", "due.ics"}
                    assert value.startswith(("#", "data:image/svg+xml,")) or value in known
                assert "url(" not in value or value.startswith("url(#"), (name, value)


def test_every_link_leads_somewhere_in_the_site(pages, request, sites):
    folder = sites[request.node.callspec.params["pages"]][0].parent
    ids = {name: [element.get("id") for element in page.iter() if element.get("id")] for name, page in pages.items()}
    for name, page in pages.items():
        assert len(ids[name]) == len(set(ids[name])), name
        for link in every(page, "a"):
            file, _, anchor = link.get("href", "").partition("#")
            assert not file or (folder / file).is_file(), link.get("href")
            target = file.removesuffix(".html") or name
            assert not anchor or anchor in ids[target], link.get("href")


def test_every_reference_within_a_page_finds_its_element(pages):
    for name, page in pages.items():
        ids = {element.get("id") for element in page.iter()}
        wanted = [value for element in page.iter() for value in element.attrib.values() if value.startswith("url(#")]
        wanted += [
            f"url(#{element.get('aria-labelledby')})" for element in page.iter() if element.get("aria-labelledby")
        ]
        assert {value[5:-1] for value in wanted} <= ids, name


def test_every_picture_says_what_it_shows(pages):
    for name, page in pages.items():
        for picture in every(page, "svg"):
            if picture.get("aria-hidden") == "true":
                continue
            assert picture.get("role") == "img", name
            assert len(picture.get("aria-label", "")) > 30, name


def test_a_picture_tells_figures_and_not_only_its_kind(sites):
    for path in sites["small"]:
        for picture in every(parsed(path), "svg", class_="chart"):
            assert re.search(r"\d", picture.get("aria-label", "")), picture.get("aria-label")


def test_every_table_has_a_caption_heads_with_a_scope_and_rows_of_one_length(pages):
    for name, page in pages.items():
        for table in every(page, "table"):
            assert text(every(table, "caption")[0]), name
            assert {head.get("scope") for head in every(table, "th")} <= {"col", "row"}, name
            head, *rows = every(table, "tr")
            assert all(len(row) == len(head) for row in rows), (name, text(table)[:80])


def test_a_section_is_a_question_and_an_answer(pages):
    for name, page in pages.items():
        for section in every(page, "section"):
            question = text(every(section, "h2")[0])
            answer = text(every(section, "p", class_="answer")[0])
            assert question.endswith("?"), (name, question)
            assert answer.endswith("."), (name, answer)
            assert not re.search(r"\b(None(?! of| raised)|nan|inf|null)\b", answer), (name, answer)


def test_the_foot_of_each_page_tells_the_day_and_the_files(pages):
    for name, page in pages.items():
        foot = text(every(page, "footer")[0])
        assert "read as of 31 March 2026" in foot, name
        assert "1 April 2025 to 31 March 2026" in foot, name
        assert "Files of the latest load: horses.csv, visits.csv, feet.csv." in foot, name
        assert "Files read" not in foot, f"{name}: figures are of every load"


def test_a_page_that_names_a_horse_carries_the_cautions(sites):
    named = []
    for path in sites["small"]:
        page = parsed(path)
        if re.search(r"\bPony \d", said(page)):
            named.append(path.stem)
            cautions = text(every(page, "aside", class_="cautions")[0])
            assert "Records are observations, not diagnoses." in cautions
            assert "Call the vet" in cautions
            assert "an angle change over 3° at one stage" in cautions
            assert "Follow your country’s law" in cautions
            assert "Small numbers mislead" in cautions
            assert "fit that supports the heels costs some shoes (trade opinion)" in cautions
    assert named == ["due", "horses", "intervals", "angles", "season", "horse-1", "horse-2", "horse-3"]


def test_how_to_read_a_range_holds_of_figures_counted_and_of_those_worked_out_by_a_model(sites):
    for name in ("lost-shoes", "angles"):
        box = text(every(parsed(called(sites["small"], name)), "p", class_="reading")[0])
        assert "1.9 is what the record gives, and the true figure is likely between 1.6 and 2.3." in box, name
        assert "counted" not in box, name


def test_that_nothing_published_gives_such_figures_is_said_where_they_stand(sites):
    pages = {path.stem: said(parsed(path)) for path in sites["empty"]}
    for name in ("lost-shoes", "data"):
        assert "Nothing peer-reviewed gives the chance of losing a shoe day by day" in pages[name]
    assert "no published bruise grade has been validated" in pages["bruising"]
    assert "Nothing peer-reviewed says how often sole bruises come back" in pages["bruising"]
