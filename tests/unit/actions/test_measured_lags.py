"""The start lag of the shipped films against what is true of them; where it is not known, why."""

import json
from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from onthree.actions.measure import read_film
from onthree.actions.measured_lags import PhaseLag, against_ground, phase_lags
from onthree.capture.phases_file import read_phases
from onthree.capture.rig import read_rig
from onthree.demo.rehearsal_films import rehearsal_folder
from onthree.kinematics.segment_motion import SegmentMotion

FOLDER = rehearsal_folder()


def lags_of(name: str) -> tuple[PhaseLag, ...]:
    """The start lags of a shipped film, phase by phase."""
    marked = read_phases(FOLDER / f"{name}.phases.toml")
    read = read_film((FOLDER / f"{name}.mp4",), read_rig(FOLDER / "rig.toml"), None, marked)
    return phase_lags(read, marked.phases)


@pytest.mark.parametrize(("name", "by"), [("roll-head-late", "rotation"), ("lift-in-time", "position")])
def test_the_lag_is_that_of_the_film_and_a_short_rest_tells_none(name: str, by: str) -> None:
    true_s = json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))["facts"]["lag_s"]
    first, back = lags_of(name)

    assert first.lag.by == by
    assert first.lag.lag_s == pytest.approx(true_s, abs=0.01)
    assert first.lag.low_s <= true_s <= first.lag.high_s
    assert not first.lag.pace and not first.lag.is_turned_back
    assert np.isnan(back.lag.lag_s)
    assert "do not stand still in the picture for 0.7 s before its start" in back.why_not


@pytest.mark.parametrize("name", ["roll-head-late", "lift-in-time"])
def test_where_neutral_is_marked_in_the_motion_no_lag_is_told(name: str) -> None:
    """Neutral from the middle of the first phase; while all lies still, or far from a phase, it does no harm."""
    marked = read_phases(FOLDER / f"{name}.phases.toml")
    read = read_film((FOLDER / f"{name}.mp4",), read_rig(FOLDER / "rig.toml"), None, marked)
    go = marked.phases[0]
    middle_s = (go.start_s + go.end_s) / 2
    first, _ = phase_lags(read, marked.phases, marked_neutral_s=(middle_s, middle_s + 0.4))

    assert np.isnan(first.lag.lag_s)
    assert first.why_not.startswith("start lag not known, neutral is marked while head or trunk moves in this phase")
    alone = phase_lags(read, marked.phases[:1], marked_neutral_s=(go.end_s + 0.1, go.end_s + 0.5))
    assert np.isfinite(
        [phase_lags(read, marked.phases, marked_neutral_s=(0.2, 1.5))[0].lag.lag_s, alone[0].lag.lag_s]
    ).all()


def test_where_nothing_moves_there_is_no_start() -> None:
    (hold,) = lags_of("hold-still")

    assert np.isnan(hold.lag.lag_s)
    assert hold.why_not == "no start to tell, head and trunk stand still throughout"


def test_against_the_ground_a_swaying_camera_does_no_harm() -> None:
    time_s = np.arange(60) / 30
    sway = Rotation.from_rotvec(0.1 * np.outer(np.sin(2 * time_s), [0.2, 0.5, 0.8]))
    head = Rotation.from_rotvec(0.4 * np.outer(np.clip(time_s - 1, 0, None), [1.0, 0.0, 0.0]))
    still = Rotation.from_rotvec(np.zeros((60, 3)))
    turned = {"head": sway * head, "trunk": sway, "ground": sway}
    is_valid = np.ones((60, 3), dtype=bool)
    is_valid[40:45, 2] = False
    turned["ground"] = Rotation.from_quat(np.where(is_valid[:, 2, None], sway.as_quat(), still.as_quat()))
    seen = SegmentMotion(
        time_s=time_s,
        segments=("head", "trunk", "ground"),
        frame="camera",
        frame_from_segment=turned,
        is_valid=is_valid,
        position_m=np.where(is_valid[..., None], sway.apply([0.0, 0.5, 2.0])[:, None], np.nan),
        measured_as="invented",
        neutral_s=None,
        source_sha256="0" * 64,
    )
    steady = against_ground(seen)

    known = steady.is_seen("head")
    assert list(np.flatnonzero(~known)) == list(range(40, 45)), "nothing is told where the ground is not seen"
    np.testing.assert_allclose((steady.frame_from_segment["trunk"][known]).magnitude(), 0, atol=1e-9)
    turn = steady.frame_from_segment["head"][known].inv() * head[known]
    np.testing.assert_allclose(turn.magnitude(), 0, atol=1e-9)
    assert against_ground(
        replace(
            seen,
            segments=("head", "trunk"),
            frame_from_segment={name: turned[name] for name in ("head", "trunk")},
            is_valid=is_valid[:, :2],
            position_m=None,
        )
    ).segments == ("head", "trunk")
