"""Templates and data become documents: text stays text, the same input gives the same bytes."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from onthree.documents import typeset
from onthree.documents.typeset import TypesetError, pdf_of, png_of, svg_of

TRIAL = """#import "_house.typ": *
#show: house.with(title: "A trial", foot: [Planned, not ordered.])
= A trial
#data.text
"""
MARKUP = '*bold* #import "x.typ" $x^2$ _y_ <label> @ref \\ "quoted"'
DAY = date(2026, 11, 25)


@pytest.fixture(autouse=True)
def templates(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """The house style with templates of the test beside it."""
    house = (typeset.TEMPLATES / "_house.typ").read_bytes()
    (tmp_path / "_house.typ").write_bytes(house)
    (tmp_path / "trial.typ").write_text(TRIAL, encoding="utf-8")
    monkeypatch.setattr(typeset, "TEMPLATES", tmp_path)
    typeset._templates.cache_clear()
    yield tmp_path
    typeset._templates.cache_clear()


def test_same_input_gives_the_same_bytes() -> None:
    first, again = (pdf_of("trial", {"on": DAY, "text": "held"}) for _ in range(2))

    assert first == again
    assert first.startswith(b"%PDF-")
    assert pdf_of("trial", {"on": "2026-11-26", "text": "held"}) != first


def test_text_is_never_markup() -> None:
    plain, marked = (svg_of("trial", {"on": DAY, "text": text}) for text in ("bold", MARKUP))

    assert len(plain) == len(marked) == 1
    assert marked[0].count("<use") > plain[0].count("<use") + 30, "every sign of it is drawn"


def test_documents_are_tagged_and_accessible() -> None:
    content = pdf_of("trial", {"on": DAY, "text": "held"})

    assert b"/StructTreeRoot" in content
    assert b"pdfuaid:part" in content  # ISO 14289-1, section 5: the identifier of PDF/UA in the metadata; from memory


def test_every_page_is_a_picture(templates: Path) -> None:
    (templates / "long.typ").write_text(TRIAL + "#pagebreak()\nmore", encoding="utf-8")
    small, large = (png_of("long", {"on": DAY, "text": "held"}, ppi=ppi) for ppi in (20, 40))

    assert len(small) == len(large) == 2
    assert len(png_of("trial", {"on": DAY, "text": "held"}, ppi=20)) == 1
    assert all(page.startswith(b"\x89PNG") for page in large)
    assert len(large[0]) > len(small[0])


def test_a_picture_without_words_for_it_is_refused(templates: Path) -> None:
    (templates / "shown.typ").write_text(TRIAL + '#image("drawing.svg")', encoding="utf-8")
    drawing = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><rect width="9" height="9"/></svg>'

    with pytest.raises(TypesetError, match="alt"):
        pdf_of("shown", {"on": DAY, "text": "held"}, {"drawing.svg": drawing})


def test_templates_read_nothing_outside(templates: Path) -> None:
    (templates / "curious.typ").write_text(TRIAL + '#read("/../../etc/hostname")', encoding="utf-8")

    with pytest.raises(TypesetError):
        pdf_of("curious", {"on": DAY, "text": "held"})
    with pytest.raises(ValueError, match="plain name"):
        pdf_of("trial", {"on": DAY, "text": "held"}, {"../outside.svg": b""})


@pytest.mark.parametrize("data", [{}, {"on": None}, {"on": "tomorrow"}])
def test_a_document_bears_a_date(data: dict[str, object]) -> None:
    with pytest.raises(ValueError, match=r"^on: .* given, the date"):
        pdf_of("trial", data)


def test_an_unknown_template_is_named() -> None:
    with pytest.raises(TypesetError, match="'poster'"):
        pdf_of("poster", {"on": DAY})


@pytest.mark.parametrize("style", ["Regular", "Bold", "Italic", "BoldItalic"])
def test_fonts_travel_with_their_licence(style: str) -> None:
    assert (typeset.FONTS / f"AtkinsonHyperlegible-{style}.ttf").is_file()
    assert "SIL OPEN FONT LICENSE Version 1.1" in (typeset.FONTS / "OFL.txt").read_text(encoding="utf-8")
