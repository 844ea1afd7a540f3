"""The page about one run, to hand to a crew while they kneel: numbers, pictures, three sentences."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from onthree.documents.typeset import pdf_of, png_of
from onthree.rehearsals.debrief import Debrief, PhaseLine

MOST_MARKS = 4
"""Pictures of marks that fit on the page beside those of the peak."""


@dataclass(frozen=True)
class Still:
    """A picture (JPEG) of a moment [s] of the run clock, and why it is shown; ``of_peak`` for those around the peak."""

    moment_s: float
    why: str
    jpeg: bytes
    of_peak: bool


@dataclass(frozen=True)
class Printed:
    """How the page is printed: the day it bears, what is said of its films, whether data are invented, a4 or letter."""

    on: date
    said_of_films: str
    is_invented: bool
    paper: str = "a4"


def debrief_pdf(page: Debrief, stills: Sequence[Still], about: Printed) -> bytes:
    """The page as PDF/UA."""
    return pdf_of("debrief", _data(page, stills, about), _files(stills))


def debrief_png(page: Debrief, stills: Sequence[Still], about: Printed) -> list[bytes]:
    """The same as pictures, one a page."""
    return png_of("debrief", _data(page, stills, about), _files(stills))


def _files(stills: Sequence[Still]) -> Mapping[str, bytes]:
    return {_name(number): still.jpeg for number, still in enumerate(stills)}


def _name(number: int) -> str:
    return f"still-{number}.jpg"


def _data(page: Debrief, stills: Sequence[Still], about: Printed) -> dict[str, Any]:
    pictures = [
        {"file": _name(number), "at": f"{still.moment_s:.1f} s", "why": still.why, "of_peak": still.of_peak}
        for number, still in enumerate(stills)
    ]
    guess_deg = page.run.run.head_guess_deg
    return {
        "on": about.on,
        "paper": about.paper,
        "title": page.title,
        "is_invented": about.is_invented,
        "set_aside": page.run.run.set_aside,
        "sentences": page.sentences,
        "facts": [list(fact) for fact in page.facts],
        "headlines": [
            ["Start lag, head after body", page.lag_value, page.lag_said],
            *([[f"The same at {page.later_size}", page.later_value, page.later_said]] if page.later else []),
            ["Head on trunk, at most", page.peak_value, page.peak_said],
            ["Head holder's own guess", "not asked" if guess_deg is None else f"{guess_deg:g} degrees", page.guess],
        ],
        "phases": [_phase_row(line) for line in page.phases],
        "incidents": [[f"{line.moment_s:.1f} s", line.kind, line.more] for line in page.incidents],
        "people": [[who, role, "not asked" if effort is None else f"{effort}"] for who, role, effort in page.people],
        "beside": list(page.beside),
        "rung": page.rung.said,
        "lifts": list(page.rung.lifts),
        "pictures": pictures,
        "films": about.said_of_films,
        "cautions": list(page.cautions),
    }


def _phase_row(line: PhaseLine) -> list[str]:
    usual = "not known" if line.usual_s is None else f"{line.usual_s:.0f} s{' (guess)' if line.usual_is_guess else ''}"
    took = "not done" if line.took_s is None else f"{line.took_s:.1f} s"
    return [line.title, f"{line.start_s:.1f} s", took, usual, line.lag, line.peak, line.seen]
