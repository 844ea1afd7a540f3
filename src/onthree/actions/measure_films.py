"""Measures films one after the other: the rest goes on after one that fails, and every file is written whole or not."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from onthree.actions.evening import Tonight, Wanted, read_evening, tonight
from onthree.actions.kept_cameras import kept_camera
from onthree.actions.measure import USUAL, FilmResult, Way, measured, read_film
from onthree.actions.measured_files import FILES, FILM_FILES, write_files
from onthree.actions.measured_run import KEPT_OF, KeptWithRun, keep_with_run, phases_of_run
from onthree.actions.runs import run_of
from onthree.actions.written_files import check_folder, replaced_names
from onthree.capture.camera_file import KnownCamera
from onthree.capture.phases_file import NOTHING_MARKED, read_phases
from onthree.capture.progress import Listener
from onthree.capture.rig import Rig, read_rig
from onthree.capture.rig_check import disagreements

MOST_BOUND_DEG = 180.0
EVENING = ".toml"


@dataclass(frozen=True, eq=False, kw_only=True)
class Asked:
    """The runs to be measured, with what, and the folder for the files, None for none; ``on`` is the day they bear.

    ``cameras``: none, one for all films, or those of the two phones of each run.
    """

    wanted: tuple[Wanted, ...]
    rig: Rig
    cameras: tuple[KnownCamera, ...]
    bound_deg: float | None
    out: Path | None
    with_film: bool
    on: date
    way: Way = USUAL


@dataclass(frozen=True, eq=False)
class FilmsAnswer:
    """The films that were measured, what is wrong with the others, what was written or replaced, tonight's noise."""

    films: tuple[FilmResult, ...]
    failed: tuple[str, ...]
    written: tuple[Path, ...]
    replaced: tuple[Path, ...]
    tonight: Tonight | None
    kept: KeptWithRun | None = None

    @property
    def disagreeing(self) -> tuple[str, ...]:
        """Where a film that was measured does not agree with the rig, by the film's name."""
        return tuple(f"{film.name}: {flag}" for film in self.films for flag in disagreements(film.flags))


def asked_for(
    films: Sequence[Path],
    rig: Path,
    cameras: Sequence[str],
    phases: Path | None,
    *,
    together: bool,
    bound_deg: float | None,
    out: Path | None,
    with_film: bool,
    on: date,
    way: Way = USUAL,
) -> Asked:
    """What is asked, from the files that say it. Raises ValueError with what to do."""
    if bound_deg is not None and not 0 < bound_deg <= MOST_BOUND_DEG:
        raise ValueError(f"--bound: {bound_deg:g} given, degrees above 0 and at most {MOST_BOUND_DEG:g} expected")
    wanted = _wanted(films, phases, together)
    counts = {len(one.paths) for one in wanted}
    if way.clock != USUAL.clock and counts == {1}:
        raise ValueError(f"--clock {way.clock}: no run of two films given; add --together, or leave --clock out")
    if len(cameras) > 1 and counts != {len(cameras)}:
        raise ValueError(f"--camera: {len(cameras)} given, one expected, or two for the two films of every run")
    if out is not None:
        check_folder(out)
    return Asked(
        wanted=wanted,
        rig=read_rig(rig),
        cameras=tuple(kept_camera(camera) for camera in cameras),
        bound_deg=bound_deg,
        out=out,
        with_film=with_film,
        on=on,
        way=way,
    )


def asked_with_run(asked: Asked, run: str) -> Asked:
    """The same for the film of a recorded run: its phases, tapped live, where none are marked.

    Raises LookupError for a run nobody recorded, ValueError for more films than those of one run.
    """
    recorded = run_of(run)
    if asked.way.moving not in KEPT_OF or asked.way.reference != USUAL.reference:
        raise ValueError(f"--run: {' or '.join(KEPT_OF)} on {USUAL.reference} is kept with a run, nothing else")
    if len(asked.wanted) > 1:
        raise ValueError(f"--run: {len(asked.wanted)} films given, that of one run expected (or two with --together)")
    (wanted,) = asked.wanted
    if wanted.marked is not NOTHING_MARKED or not wanted.paths[0].is_file():
        return asked
    return replace(asked, wanted=(replace(wanted, marked=phases_of_run(recorded, wanted.paths[0])),))


def kept_with_run(answer: FilmsAnswer, run: str, by: str) -> FilmsAnswer:
    """Keep what was measured with the run. Raises LookupError, ValueError."""
    return replace(answer, kept=keep_with_run(run, answer.films[0], by))


def measure_films(asked: Asked, on_progress: Listener | None = None) -> FilmsAnswer:
    """Measure films one by one. Raises Cancelled if the listener does; of the film at hand nothing is then written."""
    results: list[tuple[Wanted, FilmResult]] = []
    failed: list[str] = []
    written: list[Path] = []
    replaced: list[Path] = []
    names = (*FILES, *FILM_FILES) if asked.with_film else FILES
    for wanted, folder in zip(asked.wanted, _folders(asked), strict=True):
        try:
            there = () if folder is None else replaced_names(folder, names)
            known = asked.cameras if len(asked.cameras) > 1 else next(iter(asked.cameras), None)
            read = read_film(wanted.paths, asked.rig, known, wanted.marked, on_progress, asked.way)
            result = measured(wanted.paths, asked.rig, read, wanted.marked, asked.bound_deg, asked.way)
            result = replace(result, is_camera_calibrated=bool(asked.cameras))
            if folder is not None:
                written += write_files(result, folder, asked.on, asked.with_film, on_progress)
                replaced += [folder / name for name in there]
        except (ValueError, OSError) as error:
            name = wanted.paths[0].name
            failed.append(str(error) if name in str(error) else f"{name}: {error}")
            continue
        results.append((wanted, result))
    films = tuple(result for _, result in results)
    return FilmsAnswer(
        films, tuple(failed), tuple(written), tuple(replaced), tonight(results) if len(asked.wanted) > 1 else None
    )


def _wanted(films: Sequence[Path], phases: Path | None, together: bool) -> tuple[Wanted, ...]:
    if any(path.suffix == EVENING for path in films):
        if len(films) > 1 or phases or together:
            raise ValueError("a list of films (.toml) is given alone: phases and second films stand in it")
        return read_evening(films[0])
    if together and len(films) != 2:
        raise ValueError(
            f"--together: {len(films)} film{'s' * (len(films) > 1)} given, the two films of one run expected"
        )
    if phases and len(films) > 1 and not together:
        raise ValueError(
            "--phases: one file goes with one film; list several films, with their phases, in a .toml file"
        )
    marked = read_phases(phases) if phases else NOTHING_MARKED
    groups = [tuple(films)] if together else [(path,) for path in films]
    return tuple(Wanted(paths=paths, marked=marked) for paths in groups)


def _folders(asked: Asked) -> list[Path | None]:
    """Where the files of each run go: the folder itself for one, else one in it for each, by the film's name."""
    if asked.out is None:
        return [None for _ in asked.wanted]
    if len(asked.wanted) == 1:
        return [asked.out]
    names = [wanted.paths[0].stem for wanted in asked.wanted]
    return [
        asked.out / (name if names.count(name) == 1 else f"{number}-{name}")
        for number, name in enumerate(names, start=1)
    ]
