"""Pages as a browser shows them: nothing complained of, nothing cut off, readable on a phone, in the dark, on paper."""

import re

import pytest

from tests.reports.parsing import called

PHONE, DESK = 390, 1200

OVERFLOWING = """
    [...document.querySelectorAll("body *")].filter(one => !one.closest(".scroll, .skip, caption, svg")
        && one.getBoundingClientRect().right > innerWidth + 1).map(one => one.tagName + "." + one.className).join()
"""
SMALLEST_TEXT = """
    Math.min(...[...document.querySelectorAll("svg.chart text")].map(one => {
        const picture = one.ownerSVGElement;
        const scale = picture.getBoundingClientRect().width / picture.viewBox.baseVal.width;
        return parseFloat(one.getAttribute("font-size")) * scale;
    }))
"""
CUT_OFF = """
    [...document.querySelectorAll("svg.chart text")].filter(one => {
        const box = one.getBoundingClientRect(), frame = one.ownerSVGElement.getBoundingClientRect();
        return box.left < frame.left - 2 || box.right > frame.right + 2 || box.top < frame.top - 2
            || box.bottom > frame.bottom + 2;
    }).map(one => one.textContent).join(" | ")
"""
OVERLAPPING = """
    [...document.querySelectorAll("svg.chart")].flatMap(picture => {
        const boxes = [...picture.querySelectorAll("text")].map(one => [one.textContent, one.getBoundingClientRect()]);
        return boxes.flatMap(([one, a], place) => boxes.slice(place + 1).filter(([other, b]) =>
            a.left + 1 < b.right && b.left + 1 < a.right && a.top + 2 < b.bottom && b.top + 2 < a.bottom
        ).map(([other]) => one + " / " + other));
    }).join(" | ")
"""


@pytest.fixture(params=["small", "empty", "one horse", "hostile", "large"])
def site(request: pytest.FixtureRequest, sites: dict):
    """The pages of one site, by name."""
    return {path.stem: path for path in sites[request.param]}


def test_no_page_breaks_its_own_policy_or_complains(browser, site):
    browser.complaints.clear()
    for path in site.values():
        browser.open(path, DESK)
    assert browser.complaints == []


def test_a_page_that_breaks_its_policy_is_noticed(browser, site, tmp_path):
    # holds the test above to account: the same page with a style attribute, a script and a picture from outside
    spoilt = tmp_path / "spoilt.html"
    page = site["index"].read_text(encoding="utf-8")
    more = '<p style="color:red">a</p><script>document.title = "b"</script><img src="https://example.invalid/c.png">'
    spoilt.write_text(page.replace("</main>", more + "</main>"), encoding="utf-8")
    browser.complaints.clear()
    browser.open(spoilt, DESK)
    assert len(browser.complaints) >= 3
    assert browser.find("document.title") == "At a glance – Shoeing outcomes"
    browser.complaints.clear()


@pytest.mark.parametrize("width", [320, PHONE, 768, DESK])
def test_no_page_is_wider_than_the_screen(browser, site, width):
    for name, path in site.items():
        browser.open(path, width)
        assert browser.find("document.documentElement.scrollWidth") == width, name
        assert browser.find(OVERFLOWING) == "", name


@pytest.mark.parametrize("width", [PHONE, DESK])
def test_text_in_pictures_is_never_smaller_than_ten_pixels_nor_cut_off_nor_one_over_another(browser, sites, width):
    for name in ("small", "hostile", "capitals", "large"):
        for path in sites[name]:
            browser.open(path, width)
            if browser.find('document.querySelectorAll("svg.chart text").length'):
                assert browser.find(SMALLEST_TEXT) >= 10, path.stem
            assert browser.find(CUT_OFF) == "", path.stem
            assert browser.find(OVERLAPPING) == "", path.stem


def test_page_and_pictures_follow_a_dark_scheme(browser, sites):
    lost_shoes = called(sites["small"], "lost-shoes")
    ink = 'getComputedStyle(document.querySelector("svg.chart text")).fill'
    paper = "getComputedStyle(document.body).backgroundColor"
    seen = {}
    for scheme in ("light", "dark"):
        browser.open(lost_shoes, DESK, scheme=scheme)
        seen[scheme] = (browser.find(ink), browser.find(paper))
    assert seen == {
        "light": ("rgb(27, 37, 44)", "rgb(251, 250, 246)"),
        "dark": ("rgb(231, 235, 237)", "rgb(19, 24, 28)"),
    }


def test_on_paper_folded_tables_are_open_and_colours_are_those_of_light_paper(browser, sites):
    browser.open(called(sites["large"], "horses"), DESK, scheme="dark")
    rows = '[...document.querySelectorAll("details tr")].filter(one => one.checkVisibility()).length'
    assert browser.find(rows) == 0
    browser.media("dark", "print")
    assert browser.find(rows) == 976  # a head and the 975 horses after the first 25
    assert browser.find('getComputedStyle(document.querySelector("svg.chart text")).fill') == "rgb(27, 37, 44)"


def test_a_page_prints_on_a4(browser, sites, tmp_path):
    browser.open(called(sites["small"], "lost-shoes"), DESK)
    browser.print(tmp_path / "page.pdf")
    boxes = re.findall(rb"/MediaBox \[([^\]]*)\]", (tmp_path / "page.pdf").read_bytes())
    # ISO 216: A4 is 210 x 297 mm, in points of 1/72 inch
    assert boxes
    for box in boxes:
        width, height = (float(part) for part in box.split()[2:])
        assert (width, height) == (pytest.approx(210 / 25.4 * 72, abs=1), pytest.approx(297 / 25.4 * 72, abs=1))


def test_the_first_stop_of_the_keyboard_leads_past_the_navigation_and_is_seen(browser, sites):
    browser.open(called(sites["small"], "index"), PHONE)
    for kind in ("keyDown", "keyUp"):
        browser.ask("Input.dispatchKeyEvent", type=kind, key="Tab", code="Tab", windowsVirtualKeyCode=9)
    assert browser.find("document.activeElement.className") == "skip"
    assert browser.find("document.activeElement.getBoundingClientRect().top >= 0") is True
