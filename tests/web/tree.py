"""A small reader of HTML, so that tests look at elements and not at strings."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser

_VOID = frozenset(
    {"img", "input", "link", "meta", "br", "option", "rect", "line", "path", "polyline"}
)


@dataclass
class Element:
    """One element with what is inside it."""

    tag: str
    attrs: dict[str, str]
    inside: list[Element | str] = field(default_factory=list)

    def walk(self) -> Iterator[Element]:
        """This element and all below it, in order."""
        yield self
        for part in self.inside:
            if isinstance(part, Element):
                yield from part.walk()

    @property
    def text(self) -> str:
        """All text inside, with single spaces."""
        parts = (part if isinstance(part, str) else part.text for part in self.inside)
        return " ".join(" ".join(parts).split())

    def all(self, tag: str, test: Callable[[Element], bool] = lambda _: True) -> list[Element]:
        """Every element of a tag that passes the test."""
        return [each for each in self.walk() if each.tag == tag and test(each)]

    def one(self, id_: str) -> Element:
        """The element with an id."""
        (found,) = [each for each in self.walk() if each.attrs.get("id") == id_]
        return found

    def has_class(self, name: str) -> bool:
        """Whether the class attribute holds a name."""
        return name in self.attrs.get("class", "").split()


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.root = Element("", {})
        self.open = [self.root]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = Element(tag, {name: value or "" for name, value in attrs})
        self.open[-1].inside.append(element)
        # An option's words are not needed; with its end tag left out it would stay open.
        if tag not in _VOID:
            self.open.append(element)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.open[-1].inside.append(Element(tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        if tag in _VOID:
            return
        assert self.open[-1].tag == tag, f"<{self.open[-1].tag}> is closed by </{tag}>"
        self.open.pop()

    def handle_data(self, data: str) -> None:
        self.open[-1].inside.append(data)


def read_html(text: str) -> Element:
    """The elements of a page; fails where tags are not closed in order."""
    reader = _Reader()
    reader.feed(text)
    reader.close()
    assert len(reader.open) == 1, f"<{reader.open[-1].tag}> is never closed"
    return reader.root
