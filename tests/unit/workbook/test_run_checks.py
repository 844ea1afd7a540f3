"""What cannot be right in the sheets of rehearsals is told at its cell; what is right passes."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from onthree.programme.programme import programme_of
from onthree.programme.records import Incident, Measured, Record, Recording, Run, RunPhase, RunRole
from onthree.techniques.library import bundled_library
from onthree.workbook.problems import WorkbookError
from onthree.workbook.read import read_csv_files
from onthree.workbook.sheets_csv import write_csv_files
from tests.invented import DAY, ROLL, clean_records, rehearsal_records

STORED = programme_of(clean_records(), DAY)
BY_CODE = {record.code: record for record in rehearsal_records()}
OTHER = (
    Run(code="RUN-2", day=date(2026, 11, 24)),
    RunPhase(code="PH-9", run="RUN-2", technique=ROLL, order=1, start_s=1.0),
    Recording(code="REC-9", run="RUN-2", file="x.mp4", kind="film"),
)


def told(*changes: Record, current: Any = STORED) -> list[str]:
    """The problems of the run's sheets with these records in place of, or beside, its own."""
    records: Iterable[Record] = ({**BY_CODE, **{record.code: record for record in changes}}).values()
    try:
        read_csv_files(write_csv_files(records), "evening", known_techniques=bundled_library().by_id, current=current)
    except WorkbookError as error:
        return [str(problem).replace(".csv, row", ", row") for problem in error.problems]
    return []


def changed(code: str, **changes: Any) -> Record:
    return replace(BY_CODE[code], **changes)  # type: ignore[no-any-return]


def test_a_recorded_run_passes() -> None:
    assert told() == []
    assert told(*OTHER) == []


@pytest.mark.parametrize(
    ("record", "message"),
    [
        (
            changed("RR-1", role="shoulder"),
            "Run roles, row 2, Role: 'shoulder' given, a role of log_roll_push_long_board",
        ),
        (changed("RR-3", role="drummer"), "Run roles, row 4, Role: 'drummer' given, a role of a technique"),
        (changed("RR-1", technique="log_roll"), "Run roles, row 2, Technique: 'log_roll' given, the identifier"),
        (changed("PH-1", technique="log_roll"), "Run phases, row 2, Technique: 'log_roll' given, the identifier"),
        (changed("IN-1", technique="log_roll"), "Incidents, row 2, Technique: 'log_roll' given, the identifier"),
        (changed("PH-2", end_s=9.125), "Run phases, row 3, End (s): '9.125' given, more than Start, 9.125, expected"),
        (changed("PH-2", start_s=9.0), "Run phases, row 3, Start (s): '9' given, phases one after another expected"),
        (changed("PH-2", order=1), "Run phases, row 3, Order: '1' given, a place of its own in RUN-1 expected"),
        (changed("PH-1", end_s=None), "Run phases, row 3, Start (s): nothing given, phases one after another expected"),
        (changed("PH-2", end_s=50.0), "End (s): '50' given, within the 41.25 s that RUN-1 lasted expected"),
        (changed("IN-1", moment_s=41.5), "Moment (s): '41.5' given, within the 41.25 s that RUN-1 lasted expected"),
        (changed("ME-1", quantity="start_lag_first_turn"), "did you mean 'start_lag_first_turn_s'?"),
        (changed("ME-1", low=0.2), "Measured, row 2, Low: '0.2' given, at most Value, 0.182, expected"),
        (changed("ME-1", high=0.1), "Measured, row 2, High: '0.1' given, at least Value, 0.182, expected"),
        (changed("REC-1", neutral_from_s=2.0, neutral_to_s=1.0), "'1' given, more than its start, 2, expected"),
        (changed("REC-1", nod_from_s=2.0, nod_to_s=3.0), "nod and turn show the axes only together"),
        (changed("REC-1", neutral_to_s=2.0), "Neutral from (s): nothing given, seconds from the first frame expected"),
        (changed("RR-1", effort=11), "a whole number from 0 to 10 expected"),
        (changed("RUN-1", head_guess_deg=200.0), "a number from 0 to 180 expected"),
    ],
)
def test_what_cannot_be_right_is_told_at_its_cell(record: Record, message: str) -> None:
    problems = told(record)

    assert len(problems) == 1, problems
    assert message in problems[0]


@pytest.mark.parametrize(("field", "code"), [("phase", "PH-9"), ("recording", "REC-9")])
def test_a_number_is_of_its_own_run(field: str, code: str) -> None:
    (problem,) = told(*OTHER, changed("ME-1", **{field: code}))

    assert f"'{code}' given, one of RUN-1 expected: it belongs to RUN-2" in problem


def test_phases_are_checked_beside_what_is_stored() -> None:
    stored = programme_of([*clean_records(), *rehearsal_records()], DAY)
    late = RunPhase(code="PH-3", run="RUN-1", technique=ROLL, order=3, start_s=39.0, end_s=40.0)
    files = write_csv_files([late])
    with pytest.raises(WorkbookError) as error:
        read_csv_files(
            {"Run phases.csv": files["Run phases.csv"]},
            "evening",
            known_techniques=bundled_library().by_id,
            current=stored,
        )

    assert "PH-2, already stored, overlaps it" in str(error.value.problems[0])


def test_incidents_without_a_technique_and_roles_of_their_own_pass() -> None:
    assert told(Incident(code="IN-2", run="RUN-1", moment_s=1.0, kind="re-grip")) == []
    assert told(RunRole(code="RR-9", run="RUN-1", role="films", somebody="a parent")) == []
    assert told(changed("ME-1", low=None, high=None, phase=None, recording=None)) == []
    assert isinstance(BY_CODE["ME-1"], Measured)
