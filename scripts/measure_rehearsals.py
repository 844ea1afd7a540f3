"""Measures the shipped rehearsal films and writes what comes out into the demo's sheet of measured numbers.

Run it after a change to the films or to how they are measured: ``.venv/bin/python scripts/measure_rehearsals.py``.
Rows of recordings that do not ship stay as they are: invented.
"""

import csv
import io
from collections.abc import Mapping
from pathlib import Path

from onthree.actions.measure import PhaseResult, measured, read_film
from onthree.capture.phases_file import read_phases
from onthree.capture.rig import read_rig
from onthree.demo.conference import read_conference
from onthree.demo.rehearsal_films import rehearsal_folder
from onthree.kinematics.measures import NAMES
from onthree.programme.rehearsals import START_LAG

CONFERENCE = Path(__file__).parents[1] / "src" / "onthree" / "demo" / "conference"
PROGRAM = "onthree measure, on the rendered film"
Row = dict[str, str]


def measured_rows() -> list[Row]:
    """The rows of the sheet, those of shipped films as they are measured now."""
    sheets = read_conference()
    techniques = {row["Code"]: row["Technique"] for row in sheets["Run phases"]}
    shipped = {row["Code"]: row for row in sheets["Recordings"] if (rehearsal_folder() / row["File"]).is_file()}
    phases = {code: phases_of(row["File"]) for code, row in shipped.items()}
    return [
        {**row, **told(row, phase_for(row, phases[row["Recording"]], techniques), shipped[row["Recording"]])}
        if row["Recording"] in shipped
        else row
        for row in sheets["Measured"]
    ]


def phases_of(file: str) -> tuple[PhaseResult, ...]:
    """What ``onthree measure`` says of a shipped film with the phases and the rig beside it."""
    path = rehearsal_folder() / file
    rig, marked = read_rig(path.with_name("rig.toml")), read_phases(path.with_suffix(".phases.toml"))
    return measured((path,), rig, read_film((path,), rig, marked=marked), marked).phases


def phase_for(row: Row, phases: tuple[PhaseResult, ...], techniques: Mapping[str, str]) -> PhaseResult:
    """The phase of the film that a row is of; its first, where the row is of the whole run."""
    return next((one for one in phases if one.technique == techniques.get(row["Phase"])), phases[0])


def told(row: Row, phase: PhaseResult, recording: Row) -> Row:
    """The cells of a row that the film tells; moments are on the run's clock."""
    if row["Quantity"] == START_LAG:
        value, low, high, moment = phase.lag.lag_s, phase.lag.low_s, phase.lag.high_s, ""
        digits = 3
    else:
        value, digits = phase.measures.of(row["Quantity"]), 2
        place = NAMES.index(row["Quantity"])
        low, high = phase.bands.low[place], phase.bands.high[place]
        moment = f"{phase.measures.moment_s(row['Quantity']) + float(recording['Begins at (s)']):.1f}"
    cells = {"Value": value, "Low": low, "High": high}
    numbers = {name: f"{round(number, digits) + 0.0:.{digits}f}" for name, number in cells.items()}
    seen = f"{phase.measures.seen_ratio:.2f}"
    return {**numbers, "Moment (s)": moment, "Seen (share)": seen, "Program": PROGRAM}


def sheet_text(rows: list[Row]) -> str:
    """The rows as the bundled file holds them."""
    text = io.StringIO()
    writer = csv.DictWriter(text, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()


if __name__ == "__main__":
    (CONFERENCE / "Measured.csv").write_text(sheet_text(measured_rows()), encoding="utf-8")
    print("written: src/onthree/demo/conference/Measured.csv")
