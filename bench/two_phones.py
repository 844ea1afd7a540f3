"""How well the clocks of two phones are told: rendered pairs of films of one run, each of another kind.

First argument: how many pairs (1; each takes about ten seconds of processor time). Said are how far the second film's
middle lies from where it should, what the corners alone say of that, and how many pairs lie inside the stated 95 %.
"""

import sys
import tempfile
from pathlib import Path

import numpy as np

from onthree.capture.clocks import clock_beliefs
from onthree.capture.rig import Rig
from onthree.capture.two_films import read_two_films
from onthree.demo.film_writer import Encoding, film_of
from onthree.demo.scene import Scene
from onthree.demo.staging import (
    Handling,
    body_blobs,
    boom_and_stalk,
    frame_times,
    measured_by_hand,
    movements,
    phone_on,
    stand,
)

PAIRS, FIRST_SEED = 1, 101
SIZE, LENGTH_S = (960, 540), 3.6
WITHIN_SDS = 1.96


def pair(seed: int) -> tuple[Scene, Rig, Encoding]:
    """A roll before two phones at 1.6 to 2.1 m, 30 or 60 frames a second, steps 1 ms uneven, 4 to 8 Mbit/s."""
    rng = np.random.default_rng((seed, 91))
    go_s, roll_deg = rng.uniform(0.9, 1.3), rng.uniform(40, 70) * rng.choice([-1, 1])
    lag_s, head_deg = rng.uniform(0, 0.25), tuple(rng.uniform(-10, 10, 3).tolist())
    handling = Handling(0.6, go_s, 0.3, roll_deg=roll_deg, lag_s=lag_s, head_deg=head_deg, wander_deg=1.0, seed=seed)
    rates_hz = rng.choice([30.0, 60.0], 2, p=[0.7, 0.3])
    starts_s = 0.01, max(float(rng.uniform(-0.15, 0.35)), 0.01)
    distances_m = rng.uniform(1.6, 2.1, 2)
    phones = []
    for which, round_deg in enumerate((20, 195)):
        place = stand(distances_m[which], rng.uniform(1.2, 1.5), round_deg + rng.uniform(-10, 10))
        times_s = frame_times(rates_hz[which], LENGTH_S - 0.4 * which, rng, 0.001, starts_s[which])
        phones.append(phone_on(place, SIZE, times_s, rng))
    rig = boom_and_stalk(has_more=True)
    scene = Scene(rig, movements(handling, LENGTH_S + 1), tuple(phones), blobs=body_blobs(), seed=seed)
    return scene, measured_by_hand(rig, rng), Encoding(bit_rate=int(rng.uniform(4e6, 8e6)))


def off_and_sds_s(seed: int) -> tuple[float, float, float]:
    """How far the middle of the second film is off on the first's clock, what corners say of that, what is stated."""
    scene, by_hand, encoding = pair(seed)
    with tempfile.TemporaryDirectory() as folder:
        paths = (Path(folder) / "one.mp4", Path(folder) / "two.mp4")
        for phone, path in zip(scene.phones, paths, strict=True):
            film_of(scene, phone, path, encoding)
        agreed = read_two_films(paths, by_hand).agreed
    first, second = scene.phones
    middle_s = float(np.mean(agreed.overlap_s)) - agreed.clock.offset_s
    found_s = agreed.clock.offset_s + middle_s * 1e-6 * agreed.clock.rate_ppm
    stated_s = float(agreed.sd_s(np.array([middle_s]))[0])
    corners_s = float(np.sqrt(max(stated_s**2 - clock_beliefs().picture_sd_s ** 2, 0.0)))
    return found_s - float(second.frame_s[0] - first.frame_s[0]), corners_s, stated_s


def main(pairs_count: int) -> None:
    """Print each pair, then all together."""
    every = []
    for seed in range(FIRST_SEED, FIRST_SEED + pairs_count):
        every.append(off_and_sds_s(seed))
        off_s, corners_s, stated_s = every[-1]
        print(
            f"pair {seed}: off {1000 * off_s:+.2f} ms; corners say {1000 * corners_s:.2f}, stated {1000 * stated_s:.2f}"
        )
    off, corners, stated = np.array(every).T
    inside = int((np.abs(off) <= WITHIN_SDS * stated).sum())
    rms_ms = 1000 * np.sqrt((np.array([off, corners, stated]) ** 2).mean(axis=1))
    said = f"root mean squares: off {rms_ms[0]:.2f} ms, corners say {rms_ms[1]:.2f}, stated {rms_ms[2]:.2f}"
    print(f"{said}; {inside} of {pairs_count} inside the stated 95 %")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else PAIRS)
