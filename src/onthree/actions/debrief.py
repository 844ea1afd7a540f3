"""The debrief of one run: what the records say, and pictures from its film at each mark."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from importlib.resources import files
from pathlib import Path
from typing import Any

from onthree.actions.kept_films import films_folder
from onthree.actions.run_programme import run_programme
from onthree.actions.runs import sha256_of
from onthree.documents.debrief import MOST_MARKS, Printed, Still, debrief_pdf, debrief_png
from onthree.programme.fields import Number
from onthree.programme.programme import Scope
from onthree.programme.records import Recording
from onthree.rehearsals.debrief import AWAKE, Debrief, Mark, debrief
from onthree.rehearsals.tonight import tonight
from onthree.techniques.library import bundled_library

AROUND_S = 0.4
"""How long before and after the peak its two other pictures are taken [s]; a choice of this program."""
SIDE_PX = 640
PAPERS = ("a4", "letter")
SCHEMA_VERSION = 1


@dataclass(frozen=True)
class DebriefAnswer:
    """The debrief of a run, its pictures, and what is to say about its films, empty where they were found."""

    page: Debrief
    stills: tuple[Still, ...]
    said_of_films: str
    on: date
    is_invented: bool
    figure: Mapping[str, Number]
    paper: str = PAPERS[0]

    def pdf(self) -> bytes:
        """The printable page."""
        return debrief_pdf(self.page, self.stills, self._printed)

    def png(self) -> list[bytes]:
        """The page as a picture."""
        return debrief_png(self.page, self.stills, self._printed)

    @property
    def _printed(self) -> Printed:
        return Printed(self.on, self.said_of_films, self.is_invented, self.paper)


def debrief_run(
    code: str, on: date, films: Path | None = None, paper: str = PAPERS[0], organisation_code: str | None = None
) -> DebriefAnswer:
    """The debrief of a run of the store; its films are looked for under their names, and in the folder ``films``.

    Those that were sent to the pages lie in the folder of the store, and are found there.

    Raises LookupError naming the nearest codes for a run that is not there, ValueError for another paper.
    """
    if paper not in PAPERS:
        raise ValueError(f"--paper: {paper!r} given, {' or '.join(PAPERS)} expected")
    from onthree.store.load import load_programme

    load_programme(on, Scope("run", code), organisation_code=organisation_code)  # refuses a code that nobody has
    programme = run_programme(on, organisation_code)
    page = debrief(programme, code, bundled_library())
    is_invented = bool(programme.organisation.is_invented)
    stills, said = _stills(
        page, [folder for folder in (films, films_folder(), _shipped() if is_invented else None) if folder]
    )
    figure = tonight(programme, page.run.run).figure
    return DebriefAnswer(page, stills, said, on, is_invented, figure, paper)


def write_debrief(answer: DebriefAnswer, out: Path) -> None:
    """Write the page as .pdf or .png. Raises ValueError for another kind of file."""
    suffix = out.suffix.casefold()
    if suffix not in (".pdf", ".png"):
        raise ValueError(f"--out: '{out}' given, a file that ends in .pdf or .png expected")
    out.write_bytes(answer.pdf() if suffix == ".pdf" else answer.png()[0])


def debrief_document(answer: DebriefAnswer) -> dict[str, Any]:
    """The debrief as plain data for JSON."""
    page = answer.page
    return {
        "schema_version": SCHEMA_VERSION,
        "kind": "debrief",
        "data_are_invented": answer.is_invented,
        "run": page.run.run.code,
        "title": page.title,
        "counts": page.run.counts,
        "set_aside": page.run.run.set_aside,
        "sentences": list(page.sentences),
        "facts": dict(page.facts),
        "start_lag": page.lag_said,
        "later_lag": page.later_said if page.later else None,
        "peak": page.peak_said,
        "measured": [
            {
                "phase": one.phase,
                "quantity": one.quantity,
                "value": one.value,
                "low": one.low,
                "high": one.high,
                "unit": one.unit,
                "moment_s": one.moment_s,
                "measured_as": one.measured_as,
                "seen_ratio": one.seen_ratio,
            }
            for one in page.run.measured
        ],
        "tonights_figure": dict(answer.figure),
        "phases": [
            {
                "technique": line.title,
                "start_s": line.start_s,
                "took_s": line.took_s,
                "usual_s": line.usual_s,
                "usual_is_guess": line.usual_is_guess,
                "seen": line.seen,
            }
            for line in page.phases
        ],
        "incidents": [vars(line) for line in page.incidents],
        "people": [{"who": who, "role": role, "effort": effort} for who, role, effort in page.people],
        "head_holders_guess": page.guess,
        "beside": list(page.beside),
        "rung": {"number": page.rung.number, "said": page.rung.said, "lifts": list(page.rung.lifts)},
        "marks": [{"moment_s": mark.moment_s, "why": mark.why} for mark in page.marks],
        "pictures": [{"moment_s": still.moment_s, "why": still.why} for still in answer.stills],
        "films": answer.said_of_films,
        "cautions": [AWAKE, *page.cautions],
    }


def _stills(page: Debrief, folders: Sequence[Path]) -> tuple[tuple[Still, ...], str]:
    """Pictures from the first film that is found and says when it began, and what is to say about the others."""
    films = [one for one in page.run.recordings if one.kind in ("film", "film with tags")]
    if not films:
        return (), "No film is attached: no pictures."
    said = []
    for film in films:
        path = _found(film, folders)
        if path is None:
            said.append(f"{Path(film.file).name} was not found: give its folder with --films")
        elif film.offset_s is None:
            said.append(f"{path.name}: when it began on the run clock is not recorded, so no moment can be shown")
        elif film.sha256 and film.sha256 != sha256_of(path):
            said.append(f"{path.name} is another file than the one attached: no pictures from it")
        else:
            stills = tuple(_pictures(path, film.offset_s, page.marks))
            if not stills:
                said.append(f"{path.name} shows none of the marked moments")
                continue
            give_or_take = f", give or take {film.offset_sd_s:g} s" if film.offset_sd_s else ""
            return stills, f"Pictures from {path.name}; its clock stands on the run clock{give_or_take}."
    return (), "; ".join(said) + "."


def _shipped() -> Path:
    """Where the invented films lie in the package."""
    return Path(str(files("onthree") / "demo" / "rehearsal"))


def _found(film: Recording, folders: Sequence[Path]) -> Path | None:
    places = [Path(film.file).expanduser(), *(folder / Path(film.file).name for folder in folders)]
    return next((place for place in places if place.is_file()), None)


def _pictures(path: Path, offset_s: float, marks: Sequence[Mark]) -> Iterator[Still]:
    """Three around the peak, then the first marks of other kinds; what the film does not show is left out."""
    from onthree.capture.clips import pictures_at
    from onthree.capture.film import FilmError, open_film

    try:
        lasts_s = open_film(path).duration_s
    except FilmError:
        return
    shown_count = 0
    for mark in marks:
        of_peak = mark.kind == "peak"
        if not of_peak and shown_count == MOST_MARKS:
            return
        for apart_s in (-AROUND_S, 0.0, AROUND_S) if of_peak else (0.0,):
            at_s = mark.moment_s + apart_s
            if lasts_s is not None and at_s - offset_s > lasts_s:
                continue
            try:
                (jpeg,) = pictures_at(path, [at_s - offset_s], SIDE_PX)
            except FilmError:
                continue
            why = mark.why if not apart_s else f"{AROUND_S} s {'before' if apart_s < 0 else 'after'}"
            shown_count += not of_peak
            yield Still(at_s, why, jpeg, of_peak)
