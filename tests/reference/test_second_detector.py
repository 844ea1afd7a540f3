"""Two libraries find the same corners in a film: what one makes of a half pixel or an order, the other would not."""

from collections.abc import Iterator
from itertools import islice
from pathlib import Path

import numpy as np
import pytest

from onthree.capture.detectors import Library
from onthree.capture.film import Frame, open_film
from onthree.capture.tags import Sightings, find_tags

pytestmark = pytest.mark.open_data

EVERY, FRAMES = 30, 12


def some_frames(path: Path) -> Iterator[Frame]:
    """A few frames from all over the film."""
    return islice(islice(open_film(path).frames(), 0, None, EVERY), FRAMES)


def test_the_libraries_agree_on_corners(open_data: Path) -> None:
    segment_of_tag = {tag: "head" if tag < 20 else "trunk" for tag in range(40)}
    path = open_data / "video" / "roll-with-tags.mp4"

    def seen(library: Library) -> Sightings:
        return find_tags(some_frames(path), "tag36h11", segment_of_tag, library=library)

    first, second = seen("pupil"), seen("opencv")
    places = [
        {(frame, tag): corners for frame, tag, corners in zip(each.frame, each.tag, each.corners_px, strict=True)}
        for each in (first, second)
    ]
    both = places[0].keys() & places[1].keys()
    apart = np.array([places[0][key] - places[1][key] for key in sorted(both)])

    assert len(both) > 0.75 * max(map(len, places)), "the second sees somewhat fewer"
    assert np.median(np.abs(apart)) < 0.02
    assert np.abs(np.median(apart, axis=0)).max() < 0.02, "no half pixel, no other order"
    assert np.quantile(np.abs(apart), 0.9) < 0.1
