"""How far off start lags are, and how often their 95 % band holds the truth; how often a hold is taken for a start.

Invented starts of head and body in ways of moving that the estimator was not made for, without pictures; what
measuring is said to be off by is wrong by a random factor of 0.8 to 1.25. First argument: how many starts (300),
second: the first seed (1000).
"""

import sys
from collections.abc import Sequence
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent))

from onthree.kinematics.passing import LagBand
from onthree.kinematics.segment_motion import FloatArray
from onthree.kinematics.start_lag import StartLag
from tests.invented_starts import MANNERS, Case, hold_case, lag_of, start_case

STARTS, FIRST_SEED = 300, 1000
SLOW_S = 1.2
TOLD_RATIO = (0.8, 1.25)


def lag_told(case: Case, seed: int) -> StartLag:
    """The start lag of a case, told about what its measuring is off by."""
    off = np.random.default_rng((seed, 99)).uniform(*np.log(TOLD_RATIO))
    return lag_of(case, float(np.exp(off)))


def line(name: str, cases: Sequence[Case], lags: Sequence[StartLag]) -> str:
    """Of the first degree, then of five: share not known, held with its interval, errors, band; then what was said."""
    first = told(lags, np.array([case.first_turn_lag_s for case in cases]))
    later = told([lag.later for lag in lags], np.array([case.later_turn_lag_s for case in cases]))
    apart_s = np.abs([lag.lag_s - case.lag_s for lag, case in zip(lags, cases, strict=True)])
    return (
        f"{name:12} n {len(cases):4d} | first degree: {first}, from the start itself {_ms(np.nanmedian(apart_s))}"
        f" | later: {later} | another pace {np.mean([bool(lag.pace) for lag in lags]):4.0%}"
        f" turned back {np.mean([lag.is_turned_back for lag in lags]):4.0%}"
        f" wrong order {np.mean([_is_wrong(lag, case) for lag, case in zip(lags, cases, strict=True)]):5.1%}"
    )


def told(lags: Sequence[StartLag | LagBand], true_s: FloatArray) -> str:
    """How often lags are known and held, how far off they are, and how wide their bands."""
    found = np.array([(lag.lag_s, lag.low_s, lag.high_s) for lag in lags])
    known = np.isfinite(found[:, 0])
    (lag_s, low_s, high_s), true_s = found[known].T, true_s[known]
    held, off_s = (low_s <= true_s) & (true_s <= high_s), np.abs(lag_s - true_s)
    half = 196 * np.sqrt(held.mean() * (1 - held.mean()) / len(held))
    return (
        f"not known {1 - known.mean():4.0%} held {100 * held.mean():5.1f} (+- {half:3.1f}) %"
        f" off {_ms(np.median(off_s))} (median) {_ms(np.quantile(off_s, 0.9))} (9 in 10)"
        f" band {_ms(np.median(high_s - low_s))}"
    )


def _is_wrong(lag: StartLag, case: Case) -> bool:
    """Whether the other one was said to be first by the first degree."""
    return lag.low_s > max(0.0, case.first_turn_lag_s) or lag.high_s < min(0.0, case.first_turn_lag_s)


def _ms(value_s: np.floating | FloatArray) -> str:
    return f"{1000 * float(value_s):3.0f} ms"


def main() -> None:
    """Invent, measure, count, print."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else STARTS
    first = int(sys.argv[2]) if len(sys.argv) > 2 else FIRST_SEED
    cases = [start_case(seed) for seed in range(first, first + count)]
    lags = [lag_told(case, seed) for seed, case in enumerate(cases, first)]
    groups = {manner: [case.manner == manner for case in cases] for manner in MANNERS}
    groups |= {"fast": [case.lasts_s < SLOW_S for case in cases], "slow": [case.lasts_s >= SLOW_S for case in cases]}
    groups |= {"frozen": [case.is_frozen for case in cases], "all": [True] * count}
    for name, chosen in groups.items():
        places = np.flatnonzero(chosen)
        if len(places):
            print(line(name, [cases[place] for place in places], [lags[place] for place in places]))
    false = [np.isfinite(lag_told(hold_case(seed), seed).lag_s) for seed in range(first, first + count // 2)]
    print(f"holds taken for a start: {sum(false)} of {len(false)}")


if __name__ == "__main__":
    main()
