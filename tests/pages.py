"""Pages read back as a browser would: balanced, every id once, every link to something there."""

from collections.abc import Iterator
from html.parser import HTMLParser
from xml.etree.ElementTree import Element

VOID = {"meta", "link", "input", "br"}
"""Tags that have no end (HTML Living Standard, 13.1.2)."""


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open = [Element("page")]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        assert len(names) == len({*names}), f"{tag} has an attribute twice: {names}"
        made = Element(tag, {name: value or "" for name, value in attrs})
        self.open[-1].append(made)
        if tag not in VOID:
            self.open.append(made)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self.open[-1].tag == tag, f"</{tag}> ends {self.open[-1].tag}"
        self.open.pop()

    def handle_data(self, data: str) -> None:
        inside = self.open[-1]
        if len(inside):
            inside[-1].tail = (inside[-1].tail or "") + data
        else:
            inside.text = (inside.text or "") + data


def read(page: str) -> Element:
    """The page as a tree of elements; AssertionError where it is not well-formed."""
    reader = _Reader()
    reader.feed(page)
    reader.close()
    (root,) = reader.open
    ids = [each.get("id", "") for each in root.iter() if each.get("id")]
    assert len(ids) == len({*ids}), "an id stands twice"
    for each in root.iter():
        for name in ("href", "for", "aria-labelledby"):
            target = each.get(name, "")
            on_desk = name == "href" and target.startswith("/")
            assert on_desk or target.removeprefix("#") in {"", *ids}, (
                f"{name}={target} leads nowhere"
            )
    return root


def text(element: Element) -> str:
    """All its words, with single blanks; cells of a table apart."""
    return " ".join("".join(_parts(element)).split())


def _parts(element: Element) -> Iterator[str]:
    yield element.text or ""
    for inside in element:
        yield from _parts(inside)
        yield " " if inside.tag in {"td", "th"} else ""
        yield inside.tail or ""


def having(root: Element, *, name: str = "", **attributes: str) -> Iterator[Element]:
    """Elements with these words in their attributes, an empty one for any.

    `cls` stands for class, and an underline for a hyphen.
    """
    wanted = {
        "class" if key == "cls" else key.replace("_", "-"): word for key, word in attributes.items()
    }
    for each in root.iter():
        has_all = all(
            key in each.attrib and (not word or word in each.attrib[key].split())
            for key, word in wanted.items()
        )
        if has_all and name in ("", each.tag):
            yield each
