"""A focal length that changes while the film runs is said, when and by how much; one that stays is not."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from onthree.capture.camera import Camera, guessed_camera
from onthree.capture.focal import focal_change, focal_flags
from onthree.capture.layout import Layout, calibrated_layout
from onthree.capture.tags import Sightings
from onthree.capture.tracks import Track, tracks_of
from tests import invented_film
from tests.invented_film import CAMERA, InventedFilm, measured_by_hand, seen

FRAMES = 180


def fitted(
    film: InventedFilm, sightings: Sightings, rng: np.random.Generator
) -> tuple[Layout, dict[str, Track], Camera]:
    """Layout and tracks of a film whose focal length is guessed wrong by 3 %."""
    guess = guessed_camera(invented_film.WIDTH, invented_film.HEIGHT, 1.03 * CAMERA[0])
    layout = calibrated_layout(sightings, measured_by_hand(film.rig, rng), guess)
    return layout, tracks_of(sightings, layout), guess


def zoomed(film: InventedFilm, ratio: float, is_late: NDArray[np.bool_], monkeypatch: pytest.MonkeyPatch) -> Sightings:
    """The film with another focal length in some of its frames."""
    camera = CAMERA.copy()
    camera[0] *= ratio
    with monkeypatch.context() as patch:
        patch.setattr(invented_film, "CAMERA", camera)
        other = seen(film.rig, film.bodies, film.sightings.time_s, 0.05, np.random.default_rng(99))
    corners_px = np.where(is_late[other.frame][:, None, None], other.corners_px, film.sightings.corners_px)
    return replace(film.sightings, corners_px=corners_px)


@pytest.mark.parametrize("seed", range(2))
def test_a_focal_length_that_stays_is_not_said_to_change(seed: int) -> None:
    rng = np.random.default_rng(seed)
    film = invented_film.invented_film(rng, FRAMES)

    assert focal_flags(film.sightings, *fitted(film, film.sightings, rng)) == ()


@pytest.mark.parametrize(("ratio", "seed"), [(1.02, 0), (0.97, 2)])
def test_a_change_is_said_with_moment_and_percent(ratio: float, seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(seed)
    film = invented_film.invented_film(rng, FRAMES)
    sightings = zoomed(film, ratio, film.sightings.time_s >= 2.0, monkeypatch)
    layout, tracks, camera = fitted(film, sightings, rng)
    found = focal_change(sightings, layout, tracks, camera)

    assert found is not None
    assert found.start_s == pytest.approx(2.0, abs=0.5)
    assert abs(found.change_ratio - (ratio - 1)) < 0.25 * abs(ratio - 1)
    (said,) = focal_flags(sightings, layout, tracks, camera)
    assert f"from {found.start_s:.1f} s on by {found.change_ratio:+.1%}" in said


def test_a_change_there_and_back_is_said_with_both_moments(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(0)
    film = invented_film.invented_film(rng, FRAMES)
    time_s = film.sightings.time_s
    sightings = zoomed(film, 1.02, (time_s >= 3.0) & (time_s < 4.5), monkeypatch)
    (said,) = focal_flags(sightings, *fitted(film, sightings, rng))

    assert "from 3.0 to 4.5 s" in said


def test_a_film_too_short_to_tell_says_nothing() -> None:
    rng = np.random.default_rng(0)
    film = invented_film.invented_film(rng, 40)

    assert focal_flags(film.sightings, *fitted(film, film.sightings, rng)) == ()


@pytest.mark.parametrize("seed", [0, 3])
def test_a_picture_that_stays_does_not_pass_for_another_focal_length(seed: int) -> None:
    """From 3.7 s on one picture comes again and again; frame by frame its errors looked like 9 and 3 percent."""
    rng = np.random.default_rng(seed)
    film = invented_film.invented_film(rng, FRAMES)
    sightings = film.sightings
    last, after = np.flatnonzero(sightings.frame == 110), np.arange(111, FRAMES)
    rows = np.concatenate([np.flatnonzero(sightings.frame <= 110), np.tile(last, len(after))])
    frozen = replace(
        sightings,
        frame=np.concatenate([sightings.frame[sightings.frame <= 110], np.repeat(after, len(last))]),
        tag=sightings.tag[rows],
        corners_px=sightings.corners_px[rows],
    )

    assert focal_flags(frozen, *fitted(film, frozen, rng)) == ()
