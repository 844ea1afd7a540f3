"""The traces of a measured film as the pages draw them: columns of 32-bit numbers, and what stands beside them."""

import json
from pathlib import Path
from typing import Any

import numpy as np

from onthree.actions.kept_films import measured_folder
from onthree.actions.measure import FilmResult
from onthree.actions.measured_json import known
from onthree.capture.film import open_film
from onthree.kinematics.track_band import half_widths_deg

TRACES_FILE, ABOUT_FILE = "angles.f32", "traces.json"
COLUMNS = (
    "time_s",
    "flexion_extension_deg",
    "lateral_bending_deg",
    "axial_rotation_deg",
    "total_deg",
    "half_flexion_extension_deg",
    "half_lateral_bending_deg",
    "half_axial_rotation_deg",
    "half_total_deg",
)
"""Time from the first frame, the three angles and the total, then half of the 95 % band of each."""


def write_traces(result: FilmResult, folder: Path) -> None:
    """Write the columns one after the other, little end first, NaN where head and trunk were not both seen."""
    track = result.track
    half_deg = half_widths_deg(track, result.uncertainty)
    columns = np.vstack([track.time_s, track.angles_deg.T, track.total_deg, half_deg.T])
    folder.mkdir(parents=True, exist_ok=True)
    about = {
        "columns": COLUMNS,
        "count": len(track.time_s),
        "film_begins_s": film_begins_s(result.paths[0]),
        "phases": [
            {
                "name": one.phase.name,
                "start_s": one.phase.start_s,
                "end_s": one.phase.end_s,
                "peak_s": known(one.measures.moment_s("peak_total_deg")),
                "head_at_s": known(one.lag.head.at_s),
                "body_at_s": known(one.lag.body.at_s),
            }
            for one in result.phases
        ],
        "seen": {name: float(ratio) for name, ratio in result.read.seen_ratio.items()},
        "trace_rows": _rows(result),
    }
    _write(folder / TRACES_FILE, columns.astype("<f4").tobytes())
    _write(folder / ABOUT_FILE, json.dumps(about).encode())


def traces_path(run: str, organisation_code: str | None = None) -> Path | None:
    """Where the traces of the last measuring of a run lie; None where there are none."""
    from onthree.actions.film_queue import last_measured

    job = last_measured(run, organisation_code)
    path = None if job is None else measured_folder(job.id) / TRACES_FILE
    return path if path and path.is_file() else None


def read_about(job: int) -> dict[str, Any] | None:
    """What was written beside the traces of one measuring; None where it is gone."""
    path = measured_folder(job) / ABOUT_FILE
    return json.loads(path.read_text(encoding="utf-8")) if path.is_file() else None


def film_begins_s(path: Path) -> float:
    """Where on its own clock a film begins [s]: a player shows that clock, traces count from the first frame."""
    film = open_film(path)
    next(film.frames(), None)
    return film.begins_s


def _rows(result: FilmResult) -> list[list[list[Any]]]:
    """For each trace and phase: name, least, most, value where the head turned most [deg], None where not seen."""
    track = result.track
    traces = [*track.angles_deg.T, track.total_deg]
    rows = []
    for values in traces:
        of_trace: list[list[Any]] = []
        for one in result.phases:
            inside = (track.time_s >= one.phase.start_s) & (track.time_s <= one.phase.end_s) & np.isfinite(values)
            peak_s = one.measures.moment_s("peak_total_deg")
            at_peak = np.nan
            if np.isfinite(peak_s):
                at_peak = values[int(np.argmin(np.abs(track.time_s - peak_s)))]
            least, most = (values[inside].min(), values[inside].max()) if inside.any() else (np.nan, np.nan)
            of_trace.append([one.phase.name, known(least), known(most), known(at_peak)])
        rows.append(of_trace)
    return rows


def _write(path: Path, content: bytes) -> None:
    draft = path.with_name(f".{path.name}.unfinished")
    draft.write_bytes(content)
    draft.replace(path)
