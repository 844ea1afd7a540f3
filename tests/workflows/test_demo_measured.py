"""The demo's measured numbers of its shipped films are what measuring these films gives."""

import pytest

from onthree.demo.conference import read_conference
from onthree.programme.rehearsals import START_LAG
from scripts.measure_rehearsals import PROGRAM, phase_for, phases_of, told

NEAR_DEG, NEAR_S = 0.1, 0.005
"""How far the sheet may lag behind a small change to the measuring."""


def test_a_shipped_film_gives_the_numbers_of_its_run() -> None:
    sheets = read_conference()
    (recording,) = [row for row in sheets["Recordings"] if row["File"] == "lift-in-time.mp4"]
    rows = [row for row in sheets["Measured"] if row["Recording"] == recording["Code"]]
    techniques = {row["Code"]: row["Technique"] for row in sheets["Run phases"]}
    phases = phases_of(recording["File"])

    assert len(rows) == 3
    for row in rows:
        now = told(row, phase_for(row, phases, techniques), recording)
        near = NEAR_S if row["Quantity"] == START_LAG else NEAR_DEG
        for cell in ("Value", "Low", "High"):
            assert float(row[cell]) == pytest.approx(float(now[cell]), abs=near)
        assert (row["Moment (s)"], row["Seen (share)"]) == (now["Moment (s)"], now["Seen (share)"])


def test_what_was_measured_and_what_was_invented_says_so() -> None:
    sheets = read_conference()
    shipped = {row["Code"] for row in sheets["Recordings"] if row["Note"] == "rendered, invented"}

    assert len(shipped) == 3
    for row in sheets["Measured"]:
        assert row["Program"] == (PROGRAM if row["Recording"] in shipped else "invented")
