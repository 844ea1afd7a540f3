"""How far off start lags are, and how often their 95 % band holds the truth; how often a hold is taken for a start.

Invented starts of head and body in ways of moving that the estimator was not made for, without pictures. First
argument: how many starts (300), second: the first seed (1000).
"""

import sys
from collections.abc import Sequence
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent))

from onthree.kinematics.segment_motion import FloatArray
from onthree.kinematics.start_lag import StartLag, start_lag
from onthree.kinematics.start_noise import MeasuringNoise
from tests.invented_starts import MANNERS, Case, hold_case, start_case

STARTS, FIRST_SEED = 300, 1000
SLOW_S = 1.2


def lag_of(case: Case) -> StartLag:
    """The start lag of a case, told what its measuring is off by."""
    noise = MeasuringNoise(np.tile(case.noise_rad**2 * np.eye(3), (len(case.motion.time_s), 1, 1)))
    until_s = float(case.motion.time_s[-1])
    return start_lag(case.motion, case.still_s, until_s, 0.0, noise_of={"head": noise, "trunk": noise})


def line(name: str, cases: Sequence[Case], lags: Sequence[StartLag]) -> str:
    """Share not known, share held with its interval, errors, width of the band; the same of the first degree."""
    true_s = np.array([case.lag_s for case in cases])
    found = np.array([(lag.lag_s, lag.low_s, lag.high_s) for lag in lags])
    turned = np.array([(each.lag_s, each.low_s, each.high_s) for each in (lag.at_first_turn for lag in lags)])
    passed_s = np.array([case.first_turn_lag_s for case in cases])
    is_told = np.isfinite(turned[:, 0])
    turned, passed_s = turned[is_told], passed_s[is_told]
    turned_held = (turned[:, 1] <= passed_s) & (passed_s <= turned[:, 2])
    known = np.isfinite(found[:, 0])
    held = (found[known, 1] <= true_s[known]) & (true_s[known] <= found[known, 2])
    half = 196 * np.sqrt(held.mean() * (1 - held.mean()) / len(held))
    off_s = np.abs(found[known, 0] - true_s[known])
    return (
        f"{name:14} n {len(cases):4d}  not known {1 - known.mean():4.0%}"
        f"  held {100 * held.mean():5.1f} % (+- {half:4.1f})"
        f"  off {_ms(np.median(off_s))} (median) {_ms(np.quantile(off_s, 0.95))} (95 in 100)"
        f"  band {_ms(np.median(found[known, 2] - found[known, 1]))}"
        f"  first degree: not known {1 - is_told.mean():4.0%} held {100 * turned_held.mean():5.1f} %"
        f" off {_ms(np.median(np.abs(turned[:, 0] - passed_s)))} band {_ms(np.median(turned[:, 2] - turned[:, 1]))}"
        f" from the lag {_ms(np.median(np.abs(turned[:, 0] - true_s[is_told])))}"
        f"  said otherwise {np.mean([lag.is_otherwise for lag in lags]):4.0%}"
        f" turned back {np.mean([lag.is_turned_back for lag in lags]):4.0%}"
    )


def _ms(value_s: np.floating | FloatArray) -> str:
    return f"{1000 * float(value_s):4.0f} ms"


def main() -> None:
    """Invent, measure, count, print."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else STARTS
    first = int(sys.argv[2]) if len(sys.argv) > 2 else FIRST_SEED
    cases = [start_case(seed) for seed in range(first, first + count)]
    lags = [lag_of(case) for case in cases]
    groups = {manner: [case.manner == manner for case in cases] for manner in MANNERS}
    groups |= {"fast": [case.lasts_s < SLOW_S for case in cases], "slow": [case.lasts_s >= SLOW_S for case in cases]}
    groups |= {"all": [True] * count}
    for name, chosen in groups.items():
        places = np.flatnonzero(chosen)
        if len(places):
            print(line(name, [cases[place] for place in places], [lags[place] for place in places]))
    false = [np.isfinite(lag_of(hold_case(seed)).lag_s) for seed in range(first, first + count // 2)]
    print(f"holds taken for a start: {sum(false)} of {len(false)}")


if __name__ == "__main__":
    main()
