"""Where the time goes when a film of tags is read, as a ratio to decoding alone of the same file in the same run.

The open film with known truth if ONTHREE_OPEN_DATA names the folder of open data, else a film rendered here. Processor
time, so that other work on the computer counts little; poses, memory, and how long it takes from the end of a film of
30 s to start lag, peaks and their bands, by the clock.
"""

import json
import os
import sys
import tempfile
import tracemalloc
from collections.abc import Callable
from pathlib import Path
from time import perf_counter, process_time
from typing import TypeVar

import numpy as np
from threadpoolctl import threadpool_limits

sys.path.insert(0, str(Path(__file__).parent.parent))

from onthree.capture.camera import guessed_camera
from onthree.capture.detectors import tag_detector
from onthree.capture.film import open_film
from onthree.capture.focal import focal_flags
from onthree.capture.layout import calibrated_layout
from onthree.capture.rig import Rig, rig_from
from onthree.capture.tagged_video import read_tagged_video
from onthree.capture.tags import find_tags
from onthree.capture.tracks import pair_uncertainties, tracks_of
from onthree.demo.hard_cases import ordinary_scene
from onthree.kinematics.bands import phase_bands
from onthree.kinematics.measures import Phase
from onthree.kinematics.start_lag import start_lag

SEED, LENGTH_S, ASKED_S = 101, 6.0, 30.0
T = TypeVar("T")


class Spent:
    """Processor time of each step [s], told as a ratio to the first."""

    def __init__(self) -> None:
        self.decoding_s: float | None = None

    def on(self, what: str, work: Callable[[], T]) -> T:
        """Do the work and print what it took."""
        start_s = process_time()
        done = work()
        took_s = process_time() - start_s
        self.decoding_s = self.decoding_s or took_s
        print(f"{what:<42} {took_s:6.2f} s of processor time, {took_s / self.decoding_s:5.2f} x decoding")
        return done


def a_film(folder: Path) -> tuple[Path, Rig, tuple[float, float]]:
    """A film, its rig as measured by hand, and its still stretch [s]."""
    data = os.environ.get("ONTHREE_OPEN_DATA")
    if data and (path := Path(data) / "video" / "roll-with-tags.mp4").exists():
        told = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
        return path, rig_from({"tag": told["tags_as_measured_by_hand"], "measured_as": "helmet on trunk"}), (0.0, 0.5)
    case = ordinary_scene(SEED, LENGTH_S)
    return case.film(folder)[0], case.by_hand, (0.1, 1.8)


def in_every_frame(path: Path, family: str) -> int:
    """Look for tags in the whole of every frame, without following them; how many were found."""
    detector = tag_detector("pupil", family)
    return sum(len(list(detector.detect(frame.luma))) for frame in open_film(path).frames())


def measure(path: Path, rig: Rig, still_s: tuple[float, float]) -> None:
    """Print what each step costs, then the whole."""
    film, spent = open_film(path), Spent()
    print(
        f"{path.name}: {film.width} x {film.height}, {path.stat().st_size * 8e-6 / (film.duration_s or 1):.1f} Mbit/s"
    )
    count = spent.on("decoding alone", lambda: sum(1 for _ in open_film(path).frames()))
    spent.on("decoding, detection in every whole frame", lambda: in_every_frame(path, rig.family))
    segments = {tag.id: tag.segment for tag in rig.tags}
    seen = spent.on("decoding, detection, corners", lambda: find_tags(film.frames(), rig.family, segments))
    camera = guessed_camera(film.width, film.height)
    layout = spent.on("layout and camera", lambda: calibrated_layout(seen, rig, camera))
    start_s = process_time()
    tracks = spent.on("poses and smoothing", lambda: tracks_of(seen, layout))
    print(f"{'':<42} {1000 * (process_time() - start_s) / count:6.2f} ms a frame, both segments")
    spent.on(
        "how sure each pair is, raw and smoothed", lambda: [pair_uncertainties(tracks, way) for way in (True, False)]
    )
    spent.on("changes of focal length", lambda: focal_flags(seen, layout, tracks, camera))
    whole_s = perf_counter()
    read = spent.on("all: read_tagged_video", lambda: read_tagged_video(path, rig, camera, still_s))
    phase = Phase("all", still_s[1], float(seen.time_s[-1]))
    rng = np.random.default_rng(1)
    spent.on("bands of a phase", lambda: phase_bands(read.motion, read.uncertainty[0], [phase], rng))
    spent.on("start lag", lambda: start_lag(read.raw, still_s, phase.end_s, 0.0))
    whole_s = (perf_counter() - whole_s) * ASKED_S / float(seen.time_s[-1])
    print(f"from the end of a film of {ASKED_S:.0f} s to lag, peaks and bands: {whole_s:.0f} s by the clock")
    tracemalloc.start()
    tracks_of(seen, layout)
    peak_kb = tracemalloc.get_traced_memory()[1] / count / 1000
    tracemalloc.stop()
    print(f"memory at the peak of poses and smoothing: {peak_kb:.0f} kB a frame; pictures are let go one by one")


def main() -> None:
    """Find a film, or render one, and measure it with one thread, as reading does."""
    with tempfile.TemporaryDirectory() as folder, threadpool_limits(1):
        measure(*a_film(Path(folder)))


if __name__ == "__main__":
    main()
