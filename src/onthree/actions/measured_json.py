"""What was measured, as plain data for JSON; numbers that are not known are null, units end the names."""

from dataclasses import asdict
from math import isfinite
from typing import Any

import numpy as np

from onthree.actions.measure import CAUTIONS, FilmResult, PhaseResult
from onthree.actions.measured_rung import rung
from onthree.capture.lost import lost_stretches
from onthree.kinematics.angles import ORDER
from onthree.kinematics.measures import NAMES
from onthree.kinematics.passing import LagBand, Passing
from onthree.kinematics.start_lag import StartLag

SCHEMA_VERSION = 1

Document = dict[str, Any]


def film_document(result: FilmResult) -> Document:
    """One measured film; the document of ``measures.json``."""
    motion, camera, reached = result.read.motion, result.read.layout.fit, rung(result)
    return {
        "schema_version": SCHEMA_VERSION,
        "kind": "measures",
        "films": [path.name for path in result.paths],
        "source_sha256": motion.source_sha256,
        "moving": result.pair[0],
        "reference": result.pair[1],
        "measured_as": motion.measured_as,
        "headline": result.headline,
        "order": ORDER,
        "neutral_s": list(result.track.neutral_s),
        "neutral": result.neutral_said,
        "bound_deg": result.bound_deg,
        "frames": len(motion.time_s),
        "seen_ratio": dict(result.read.seen_ratio),
        "lost": [asdict(one) for one in lost_stretches(motion.time_s, result.read.bodies)],
        "focal_px": {"value": known(camera.camera[0]), "sd": known(np.sqrt(camera.covariance[0, 0]))},
        "rung": {"number": reached.number, "reached": reached.reached, "lifts": list(reached.lifts)},
        "tags_left_out": list(result.read.layout.slipped),
        "phases": [phase_data(one) for one in result.phases],
        "flags": list(result.flags),
        "cautions": list(CAUTIONS),
    }


def phase_data(result: PhaseResult) -> Document:
    """One phase: its lag first, then every measure with its band, noise floor and what widens the band most."""
    lag, found = result.lag, result.measures
    return {
        "name": result.phase.name,
        "technique": result.technique,
        "start_s": result.phase.start_s,
        "end_s": result.phase.end_s,
        "start_lag": {
            "said": result.why_no_lag or lag.said,
            "told_by": lag.by,
            **_lag(lag),
            "later": _lag(lag.later),
            "pace": lag.pace,
            "is_turned_back": lag.is_turned_back,
            "head": _passing(lag.head),
            "body": _passing(lag.body),
        },
        "seen_ratio": known(found.seen_ratio),
        "peak_between_s": [known(at_s) for at_s in result.bands.peak_s],
        "gaps_s": [list(gap) for gap in found.gaps_s],
        "said": found.said,
        "measures": {
            name: {
                "value": known(found.values[place]),
                "low": known(result.bands.low[place]),
                "high": known(result.bands.high[place]),
                "moment_s": known(found.moments_s[place]),
                "noise_floor": known(result.floor[place]),
                "widened_by": result.widened_by(name) or None,
            }
            for place, name in enumerate(NAMES)
        },
    }


def _lag(lag: StartLag | LagBand) -> Document:
    return {"value_s": known(lag.lag_s), "low_s": known(lag.low_s), "high_s": known(lag.high_s)}


def _passing(passing: Passing) -> Document:
    return {"at_s": known(passing.at_s), "low_s": known(passing.low_s), "high_s": known(passing.high_s)}


def known(number: Any) -> Any:
    """A number for JSON; null where it is not known."""
    return float(number) if isfinite(number) else None
