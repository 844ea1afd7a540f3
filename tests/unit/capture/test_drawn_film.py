"""What is drawn into a film: at the right place, upright, and nothing where nothing is known."""

import numpy as np
import pytest
from numpy.typing import NDArray

from onthree.capture.camera import projected
from onthree.capture.drawn_film import AXIS_M, TAG_COLOUR, Overlay, angle_lines, drawn_picture
from onthree.capture.poses import Poses
from onthree.capture.tags import Sightings
from onthree.kinematics.measures import Phase

WIDTH, HEIGHT = 640, 480
CAMERA = np.array([600.0, 1.0, 319.5, 239.5, 0.0, 0.0, 0.0, 0.0])
CORNERS_PX = np.array([[300.0, 300.0], [360.0, 300.0], [360.0, 360.0], [300.0, 360.0]])
GREY = 90


def overlay(is_seen: bool = True) -> Overlay:
    """One tag, and a head before the camera with its axes along those of the picture."""
    return Overlay(
        sightings=Sightings(np.array([0.0]), np.array([0]), np.array([7]), CORNERS_PX[None]),
        camera=CAMERA,
        poses={"head": Poses(np.eye(3)[None], np.array([[0.1, -0.05, 1.0]]))},
        is_seen={"head": np.array([is_seen])},
        angles_deg=np.full((1, 4), 5.0 if is_seen else np.nan),
        phases=[Phase("roll", 0.0, 1.0)],
        said="invented",
    )


def picture(width: int = WIDTH, height: int = HEIGHT) -> NDArray[np.uint8]:
    return np.full((height, width, 3), GREY, np.uint8)


def is_drawn(drawn: NDArray[np.uint8], across: int, down: int) -> bool:
    """Whether something of another colour than the ground is within a pixel."""
    return bool((np.abs(drawn[down - 1 : down + 2, across - 1 : across + 2].astype(int) - GREY) > 40).any())


def test_tags_and_axes_are_where_they_were_seen() -> None:
    drawn = drawn_picture(picture(), 0, overlay())
    ends_m = np.array([0.1, -0.05, 1.0]) + 0.7 * AXIS_M * np.eye(3)[:2]

    assert drawn.shape == (HEIGHT, WIDTH, 3)
    np.testing.assert_allclose(drawn[330, 300], TAG_COLOUR, atol=60)
    assert not is_drawn(drawn, 300, 280)
    for across, down in projected(CAMERA, ends_m):
        assert is_drawn(drawn, round(across), round(down))


def test_a_segment_that_is_not_seen_has_no_axes() -> None:
    drawn = drawn_picture(picture(), 0, overlay(is_seen=False))
    (across, down) = projected(CAMERA, np.array([0.1 + 0.7 * AXIS_M, -0.05, 1.0]))

    assert not is_drawn(drawn, round(across), round(down))


@pytest.mark.parametrize(
    ("turned_deg", "place"),
    [
        (90, (330, WIDTH - 1 - 300)),
        (180, (WIDTH - 1 - 300, HEIGHT - 1 - 330)),
        (270, (HEIGHT - 1 - 330, 300)),
        (-90, (HEIGHT - 1 - 330, 300)),
    ],
)
def test_a_film_is_turned_upright(turned_deg: int, place: tuple[int, int]) -> None:
    drawn = drawn_picture(picture(), 0, overlay(), turned_deg)

    assert drawn.shape[:2] == ((HEIGHT, WIDTH) if turned_deg == 180 else (WIDTH, HEIGHT))
    np.testing.assert_allclose(drawn[place[1], place[0]], TAG_COLOUR, atol=60)


def test_a_large_film_is_drawn_smaller_and_sides_are_even() -> None:
    assert drawn_picture(picture(3841, 2161), 0, overlay()).shape == (1080, 1920, 3)
    assert drawn_picture(picture(641, 481), 0, overlay()).shape == (480, 640, 3)


def test_angles_are_said_by_their_way() -> None:
    assert angle_lines(np.array([-3.04, 2.0, -1.5, 4.0]), []) == [
        ("flexion", "3.0 deg"),
        ("right bend", "2.0 deg"),
        ("right turn", "1.5 deg"),
        ("total", "4.0 deg"),
    ]
    assert angle_lines(np.full(4, np.nan), ["trunk"]) == [("not seen: trunk", "")]
