"""Measures films one after the other: the rest goes on after one that fails, and every file is written whole or not."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from onthree.actions.measure import FilmResult, FilmsAnswer, measured_film
from onthree.actions.measured_csv import angles_csv
from onthree.actions.measured_json import film_document
from onthree.actions.written_files import Writing, replaced_names
from onthree.capture.camera_file import KnownCamera, read_camera
from onthree.capture.film import open_film
from onthree.capture.phases_file import NOTHING_MARKED, MarkedPhases, read_phases
from onthree.capture.progress import Listener
from onthree.capture.rig import Rig, read_rig

MOST_BOUND_DEG = 180.0


@dataclass(frozen=True, eq=False, kw_only=True)
class Asked:
    """How films are to be measured, and where the files go, if anywhere."""

    rig: Rig
    camera: KnownCamera | None = None
    marked: MarkedPhases = NOTHING_MARKED
    bound_deg: float | None = None
    out: Path | None = None
    with_film: bool = True


def asked_for(
    rig: Path,
    camera: Path | None,
    phases: Path | None,
    *,
    bound_deg: float | None,
    out: Path | None,
    with_film: bool,
) -> Asked:
    """What is asked, from the files that say it. Raises ValueError with every problem of a file."""
    if bound_deg is not None and not 0 < bound_deg <= MOST_BOUND_DEG:
        raise ValueError(f"--bound: {bound_deg:g} given, degrees above 0 and at most {MOST_BOUND_DEG:g} expected")
    return Asked(
        rig=read_rig(rig),
        camera=read_camera(camera) if camera else None,
        marked=read_phases(phases) if phases else NOTHING_MARKED,
        bound_deg=bound_deg,
        out=out,
        with_film=with_film,
    )


def measure_films(paths: Sequence[Path], asked: Asked, on_progress: Listener | None = None) -> FilmsAnswer:
    """Measure films one by one. Raises ValueError where files would be replaced that are not this command's."""
    films: list[FilmResult] = []
    failed: list[str] = []
    written: list[Path] = []
    replaced: list[Path] = []
    folders = _folders(paths, asked.out)
    for path, folder in zip(paths, folders, strict=True):
        try:
            film = open_film(path)
            camera = asked.camera.of_size(film.width, film.height) if asked.camera else None
            result = measured_film(path, asked.rig, camera, asked.marked, asked.bound_deg)
            if folder is not None:
                replaced += [folder / name for name in replaced_names(folder, {"angles.csv"})]
                written += write_files(result, folder)
        except (ValueError, OSError) as error:
            failed.append(str(error) if path.name in str(error) else f"{path.name}: {error}")
            continue
        films.append(result)
    return FilmsAnswer(tuple(films), tuple(failed), tuple(written), tuple(replaced))


def write_files(result: FilmResult, folder: Path) -> tuple[Path, ...]:
    """Write what was measured; all files or none."""
    with Writing(folder) as writing:
        writing.add("angles.csv", angles_csv(result))
        return writing.keep(film_document(result))


def _folders(paths: Sequence[Path], out: Path | None) -> list[Path | None]:
    """Where the files of each film go: the folder itself for one film, else one in it for each, by its name."""
    if out is None:
        return [None for _ in paths]
    if len(paths) == 1:
        return [out]
    names = [path.stem for path in paths]
    return [
        out / (path.stem if names.count(path.stem) == 1 else f"{number}-{path.stem}")
        for number, path in enumerate(paths, start=1)
    ]
