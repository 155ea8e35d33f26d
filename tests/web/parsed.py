"""A page as a person meets it: its text, headings, links, and forms that can be filled in and sent."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any

from httpx2 import Response
from starlette.testclient import TestClient

VOID = frozenset(("area", "base", "br", "col", "hr", "img", "input", "link", "meta", "source", "wbr"))


@dataclass
class Node:
    """An element with its attributes, and its children in order; text is a child too."""

    tag: str
    attributes: dict[str, str]
    children: list[Node | str] = field(default_factory=list)

    def all(self, *tags: str) -> Iterator[Node]:
        """The elements within that have one of these tags, in order of the page."""
        for child in self.children:
            if isinstance(child, Node):
                if child.tag in tags:
                    yield child
                yield from child.all(*tags)

    def where(self, tag: str, **attributes: str) -> Node:
        """The first element with these attributes."""
        for node in self.all(tag):
            if all(node.attributes.get(name.rstrip("_")) == value for name, value in attributes.items()):
                return node
        raise AssertionError(f"no <{tag}> with {attributes}")

    @property
    def text(self) -> str:
        """All words within, with single blanks."""
        words = "".join(child if isinstance(child, str) else f" {child.text} " for child in self.children)
        return re.sub(r"\s+", " ", words).strip()

    @property
    def classes(self) -> list[str]:
        return self.attributes.get("class", "").split()


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.root = Node("document", {})
        self.open = [self.root]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        node = Node(tag, {name: value or "" for name, value in attrs})
        self.open[-1].children.append(node)
        if tag not in VOID and tag not in ("path", "circle", "rect"):
            self.open.append(node)

    def handle_endtag(self, tag: str) -> None:
        for depth in range(len(self.open) - 1, 0, -1):
            if self.open[depth].tag == tag:
                del self.open[depth:]
                return

    def handle_data(self, data: str) -> None:
        self.open[-1].children.append(data)


@dataclass
class Form:
    """A form with what stands in it, as a browser would send it."""

    node: Node
    page: str

    @property
    def action(self) -> str:
        return self.node.attributes.get("action", self.page)

    @property
    def values(self) -> dict[str, list[str]]:
        """What would be sent if nothing were touched, buttons left out."""
        sent: dict[str, list[str]] = {}
        for control in self.node.all("input", "select", "textarea"):
            name = control.attributes.get("name")
            if name and (value := _value(control)) is not None:
                sent.setdefault(name, []).append(value)
        return sent

    def send(self, client: TestClient, button: str = "", **changed: Any) -> Response:
        """Fill in and send, by pressing the button that says so; redirects are not followed."""
        sent = {**self.values, **changed}
        pressed = next(node for node in self.node.all("button") if not button or button in node.text)
        if name := pressed.attributes.get("name"):
            sent[name] = pressed.attributes.get("value", "")
        if self.node.attributes.get("method", "get") == "get":
            return client.get(self.action, params=sent, follow_redirects=False)
        path = self.action.split("#")[0]
        return client.post(path, data=sent, follow_redirects=False)


@dataclass
class Page:
    """An answer that was read."""

    response: Response
    root: Node

    @classmethod
    def of(cls, response: Response) -> Page:
        reader = _Reader()
        reader.feed(response.text)
        return cls(response, reader.root)

    @property
    def status(self) -> int:
        return self.response.status_code

    @property
    def main(self) -> Node:
        return next(self.root.all("main"))

    @property
    def text(self) -> str:
        return self.main.text

    def form(self, action: str) -> Form:
        """The first form whose action begins so."""
        for node in self.root.all("form"):
            if node.attributes.get("action", "").startswith(action):
                return Form(node, str(self.response.url))
        raise AssertionError(f"no form for {action} on {self.response.url}")

    def forms(self, action: str) -> list[Form]:
        return [
            Form(node, str(self.response.url))
            for node in self.root.all("form")
            if node.attributes.get("action", "").startswith(action)
        ]


def _value(control: Node) -> str | None:
    kind = control.attributes.get("type", "text")
    if control.tag == "input" and kind in ("radio", "checkbox"):
        return control.attributes.get("value", "on") if "checked" in control.attributes else None
    if control.tag == "select":
        options = list(control.all("option"))
        chosen = next(
            (one for one in options if "selected" in one.attributes), options[0] if options else None
        )
        return None if chosen is None else chosen.attributes.get("value", chosen.text)
    if control.tag == "textarea":
        return "".join(child for child in control.children if isinstance(child, str))
    return control.attributes.get("value", "")
