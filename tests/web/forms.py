"""Reads a page as a browser does: its words, what would run, and its forms with what can be typed into them."""

from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any

_ADDRESSES = ("href", "src", "action", "formaction", "poster", "data", "srcdoc")
_SHOWN = ("value", "aria-label", "placeholder", "alt", "title")
_CHOSEN = ("checkbox", "radio")
_NEVER_TYPED = (*_CHOSEN, "hidden", "file", "submit", "button")
_USUAL = {"date": "2026-11-27", "time": "18:30"}


@dataclass
class Form:
    """One form: where it goes, what it would send as it stands, what is typed freely, and which files it takes."""

    action: str
    is_post: bool
    outbox: str
    sends: dict[str, list[str]] = field(default_factory=dict)
    typed: dict[str, str] = field(default_factory=dict)
    files: list[str] = field(default_factory=list)

    def with_typed(self, name: str, text: str) -> dict[str, Any]:
        """What is sent when a text is typed into one field, and something sensible into the others that are blank."""
        usual = {each: [_USUAL.get(kind, "1")] for each, kind in self.typed.items() if not "".join(self.sends[each])}
        return {**self.sends, **usual, name: text}


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self.runs: list[str] = []
        self.forms: list[Form] = []
        self.inside: Form | None = None
        self.is_script = False
        self.select = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        self.is_script = tag == "script" and given.get("type") != "application/json"
        self.runs += [f"{tag} {name}" for name in given if name.startswith("on") or name.startswith("hx-on")]
        self.runs += [f"{name}={given[name]}" for name in _ADDRESSES if is_run(given.get(name, ""))]
        self.words += [given[name] for name in _SHOWN if given.get(name)]
        if tag == "form":
            is_post = given.get("method", "get").lower() == "post"
            self.inside = Form(given.get("action", ""), is_post, given.get("data-outbox", ""))
            self.forms.append(self.inside)
        elif self.inside is not None and tag in ("input", "select", "textarea", "option", "button"):
            self._take(self.inside, tag, given)

    def _take(self, form: Form, tag: str, given: dict[str, str]) -> None:
        name, value, kind = given.get("name", ""), given.get("value", ""), given.get("type", "text")
        if tag == "select":
            self.select = name
        elif tag == "option":
            if self.select and ("selected" in given or not "".join(form.sends.get(self.select, ()))):
                form.sends[self.select] = [value]  # the one that is chosen, else the first that says something
        elif not name:
            return
        elif tag == "button":
            form.sends.setdefault(name, [value])
        elif kind == "file":
            form.files.append(name)
        elif tag == "textarea" or kind not in _NEVER_TYPED:
            form.typed[name] = kind
            form.sends.setdefault(name, []).append(value)
        elif kind not in _CHOSEN or "checked" in given:
            form.sends.setdefault(name, []).append(value)

    def handle_data(self, data: str) -> None:
        (self.runs if self.is_script and data.strip() else self.words).append(data)

    def handle_endtag(self, tag: str) -> None:
        self.is_script = False
        self.select = "" if tag == "select" else self.select
        self.inside = None if tag == "form" else self.inside


def is_run(address: str) -> bool:
    """Whether a browser would run an address, or take it for a page of its own."""
    plain = "".join(address.split()).lower()
    return plain.startswith(("javascript:", "vbscript:", "data:text"))


def read(html: str) -> _Reader:
    """A page as a browser understands it."""
    found = _Reader()
    found.feed(html)
    return found
