"""A page read back as a tree, by a parser that forgives nothing."""

from html.parser import HTMLParser
from pathlib import Path
from xml.etree.ElementTree import Element, SubElement

VOID = {"meta", "link", "br", "hr", "img", "input", "col", "wbr"}


class _Tree(HTMLParser):
    """Builds a tree; an element that is closed out of turn, or never, is an AssertionError."""

    def __init__(self):
        super().__init__(convert_charrefs=True)
        self.top = Element("document")
        self._open = [self.top]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        assert len(names) == len(set(names)), f"<{tag}> has an attribute twice: {names}"
        element = SubElement(self._open[-1], tag, {name: value or "" for name, value in attrs})
        if tag not in VOID:
            self._open.append(element)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self._open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self._open[-1].tag == tag, f"</{tag}> closes <{self._open[-1].tag}>"
        self._open.pop()

    def handle_data(self, data: str) -> None:
        parent = self._open[-1]
        if len(parent):
            parent[-1].tail = (parent[-1].tail or "") + data
        else:
            parent.text = (parent.text or "") + data

    def finished(self) -> Element:
        assert self._open == [self.top], f"never closed: {[element.tag for element in self._open[1:]]}"
        return self.top


def parsed(page: Path | str) -> Element:
    """The page as a tree."""
    tree = _Tree()
    tree.feed(page.read_text(encoding="utf-8") if isinstance(page, Path) else page)
    tree.close()
    return tree.finished()


def every(tree: Element, tag: str, **attributes: str) -> list[Element]:
    """Elements of this tag with these attributes, in order. class_ stands for class."""
    wanted = {name.rstrip("_").replace("_", "-"): value for name, value in attributes.items()}
    return [found for found in tree.iter(tag) if all(found.get(name) == value for name, value in wanted.items())]


def text(element: Element) -> str:
    """All text in an element, blanks run together."""
    return " ".join("".join(element.itertext()).split())


def said(tree: Element) -> str:
    """What a page says: its main part as text, with the words its pictures are described by."""
    main = every(tree, "main")[0]
    return " ".join([text(main), *[picture.get("aria-label", "") for picture in main.iter("svg")]])


def table_rows(tree: Element, caption: str) -> list[list[str]]:
    """The cells of the table with this caption, its head first."""
    found = next(table for table in tree.iter("table") if text(every(table, "caption")[0]) == caption)
    return [[text(cell) for cell in row if cell.tag in ("th", "td")] for row in found.iter("tr")]


def pages_of(written: list[Path]) -> list[Path]:
    """The pages among the files of a site."""
    return [path for path in written if path.suffix == ".html"]


def called(written: list[Path], name: str) -> Path:
    """The page of this name."""
    return next(path for path in written if path.name == f"{name}.html")


def own_files(written: list[Path]) -> list[Path]:
    """The pages of horses, in their order."""
    return [path for path in written if path.stem.startswith("horse-")]
