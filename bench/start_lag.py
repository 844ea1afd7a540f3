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
    """Share not known, share held with its interval, errors, width of the band, and the same of the first degree."""
    true_s = np.array([case.lag_s for case in cases])
    found = np.array([(lag.lag_s, lag.low_s, lag.high_s) for lag in lags])
    turned = np.array([lag.at_first_turn.lag_s for lag in lags])
    known = np.isfinite(found[:, 0])
    held = (found[known, 1] <= true_s[known]) & (true_s[known] <= found[known, 2])
    half = 196 * np.sqrt(held.mean() * (1 - held.mean()) / len(held))
    off_s = np.abs(found[known, 0] - true_s[known])
    return (
        f"{name:14} n {len(cases):4d}  not known {1 - known.mean():4.0%}"
        f"  held {100 * held.mean():5.1f} % (+- {half:4.1f})"
        f"  off {_ms(np.median(off_s))} (median) {_ms(np.quantile(off_s, 0.95))} (95 in 100)"
        f"  band {_ms(np.median(found[known, 2] - found[known, 1]))}"
        f"  first degree off {_ms(np.nanmedian(np.abs(turned - true_s)))}"
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
