"""Turns a template and data into PDF, PNG or SVG. Text handed over is data, never markup; there is no clock inside."""

import json
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, date, datetime, time
from functools import cache
from pathlib import Path, PurePosixPath
from tempfile import TemporaryDirectory
from typing import Any

import typst

TEMPLATES = Path(__file__).parent / "templates"
FONTS = Path(__file__).parents[1] / "data" / "fonts"
ACCESSIBLE = "ua-1"
"""The PDF standard every document keeps: tagged, titled, its pictures described in words."""
SCREEN_PPI = 144

NOTHING: Mapping[str, bytes] = {}


class TypesetError(RuntimeError):
    """A document that cannot be made: a fault of its template, not of what a person typed."""


def pdf_of(template: str, data: Mapping[str, Any], files: Mapping[str, bytes] = NOTHING) -> bytes:
    """A tagged PDF (PDF/UA-1) of a template; the same input gives the same bytes.

    ``data`` holds ``on``, the date the document bears; ``files`` holds pictures by the name the template uses.
    Raises TypesetError where the template fails, ValueError where ``on`` is missing.
    """
    (content,) = _compiled(template, data, files, format="pdf", pdf_standards=ACCESSIBLE, timestamp=_moment(data))
    return content


def png_of(
    template: str, data: Mapping[str, Any], files: Mapping[str, bytes] = NOTHING, ppi: int = SCREEN_PPI
) -> list[bytes]:
    """A picture of each page of a template; for the rest see ``pdf_of``."""
    return _compiled(template, data, files, format="png", ppi=ppi, timestamp=_moment(data))


def svg_of(template: str, data: Mapping[str, Any], files: Mapping[str, bytes] = NOTHING) -> list[str]:
    """A drawing of each page of a template; for the rest see ``pdf_of``."""
    return [page.decode() for page in _compiled(template, data, files, format="svg", timestamp=_moment(data))]


def _compiled(template: str, data: Mapping[str, Any], files: Mapping[str, bytes], **options: Any) -> list[bytes]:
    with _room(files) as room:
        source = room / f"{template}.typ"
        if not source.is_file():
            raise TypesetError(f"template {template!r} given, one of the files in documents/templates expected")
        inputs = {"data": json.dumps(data, default=_as_text, ensure_ascii=False)}
        try:
            made = typst.compile(source, root=room, font_paths=_fonts(), sys_inputs=inputs, **options)
        except typst.TypstError as error:
            raise TypesetError(f"{template}: {error.diagnostic}") from error
    return made if isinstance(made, list) else [made or b""]


def _moment(data: Mapping[str, Any]) -> datetime:
    try:
        day = data["on"] if isinstance(data["on"], date) else date.fromisoformat(data["on"])
    except (KeyError, TypeError, ValueError):
        raise ValueError(f"on: {data.get('on')!r} given, the date the document bears expected") from None
    return datetime.combine(day, time(), tzinfo=UTC)


@contextmanager
def _room(files: Mapping[str, bytes]) -> Iterator[Path]:
    """A folder with the templates and the files of one document, and nothing else a template could read."""
    with TemporaryDirectory(prefix="onthree-") as folder:
        room = Path(folder)
        for name, content in {**_templates(), **files}.items():
            place = PurePosixPath(name)
            if place.is_absolute() or ".." in place.parts:
                raise ValueError(f"file {name!r} given, a plain name expected")
            (room / place).parent.mkdir(parents=True, exist_ok=True)
            (room / place).write_bytes(content)
        yield room


@cache
def _templates() -> Mapping[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(TEMPLATES.iterdir()) if path.suffix in (".typ", ".svg")}


@cache
def _fonts() -> typst.Fonts:
    """The bundled fonts, and those inside the typesetter for signs they lack; never those of the machine."""
    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=True, font_paths=[FONTS])


def _as_text(value: object) -> str:
    if isinstance(value, date):
        return value.isoformat()
    raise TypeError(f"{type(value).__name__} given, something JSON can hold expected")
