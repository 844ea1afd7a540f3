"""How wrong the angles of hard films are, and whether everything above two degrees is said.

A row a film: the largest error about neutral with the axes laid on the true ones [degrees], how often an error lies
above two degrees and how often that is not said, what is lost, and every flag. Names of films may be given.
"""

import sys
import tempfile
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent))

from bench.coverage import laid_on_the_true_axes
from onthree.capture.tagged_video import read_tagged_video, unsure_moments
from onthree.demo.hard_cases import HARD_CASES
from onthree.kinematics.angles import about_neutral, relative_rotation

STILL_S, BOUND_DEG = (0.0, 1.3), 2.0
NOT_JUDGED = ("mirrored", "wrong-family", "two-phones")
"""The first two are refused; two phones have rows of their own (``bench/two_phones.py``)."""


def main(names: list[str]) -> None:
    """Render, read and judge each film, and print its row."""
    for name in names or [each for each in HARD_CASES if each not in NOT_JUDGED]:
        case = HARD_CASES[name]()
        with tempfile.TemporaryDirectory() as folder:
            video = read_tagged_video(case.film(Path(folder))[0], case.by_hand, neutral_s=STILL_S)
        truth = case.truths[0]
        motion = laid_on_the_true_axes(video, video.motion, truth.rig)
        found, true = (
            about_neutral(motion, rotation, None, "head", "trunk").angles_deg
            for rotation in (relative_rotation(motion, "head", "trunk"), truth.rotation)
        )
        error_deg = np.abs(found - true).max(axis=1)
        is_wrong = error_deg > BOUND_DEG
        unsaid_count = int((is_wrong & ~unsure_moments(video.motion, video.uncertainty[0])).sum())
        lost_ratio = 1 - motion.is_valid.all(axis=1).mean()
        told = f"{is_wrong.sum()} above {BOUND_DEG:g}, {unsaid_count} of them not said; lost {lost_ratio:.0%}"
        print(f"{name:<18} largest error {np.nanmax(error_deg):5.2f} degrees; {told}")
        for flag in motion.flags:
            print(f"    {flag}")


if __name__ == "__main__":
    main(sys.argv[1:])
