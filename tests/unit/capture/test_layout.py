"""The layout and the camera are found from the film; tags that do not hold still are named."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from onthree.capture.camera import Camera, guessed_camera
from onthree.capture.layout import Layout, LayoutError, calibrated_layout
from onthree.capture.rig import Rig
from onthree.capture.tags import Sightings
from tests.invented_film import CAMERA, HEIGHT, WIDTH, InventedFilm, invented_film, measured_by_hand

ROUGH = guessed_camera(WIDTH, HEIGHT, CAMERA[0] * 1.05)


def worst_between_tags_deg(layout: Layout, truth: Rig) -> float:
    """The largest error of a tag's direction against the first of its segment: the axes of the segment play no part."""
    true = {tag.id: Rotation.from_rotvec(tag.rotvec_rad) for tag in truth.tags}
    worst_deg = 0.0
    for segment in layout.segments:
        rows = [row for row, tag in enumerate(layout.tags) if tag.segment == segment]
        found = Rotation.from_matrix(layout.fit.layout.rotation[rows])
        wanted = Rotation.concatenate([true[layout.tags[row].id] for row in rows])
        off = (found[0].inv() * found) * (wanted[0].inv() * wanted).inv()
        worst_deg = max(worst_deg, float(np.degrees(off.magnitude()).max()))
    return worst_deg


def film_and_rough(seed: int = 1) -> tuple[InventedFilm, Rig]:
    rng = np.random.default_rng(seed)
    film = invented_film(rng)
    return film, measured_by_hand(film.rig, rng)


def test_layout_and_focal_are_found_from_a_hand_measured_start() -> None:
    film, rough = film_and_rough()
    layout = calibrated_layout(film.sightings, rough, ROUGH)

    assert worst_between_tags_deg(layout, film.rig) < 0.5
    assert layout.fit.camera[0] == pytest.approx(CAMERA[0], rel=0.005)
    assert layout.fit.sd_px == pytest.approx(0.05, rel=0.1), "the noise that was put in"
    assert layout.slipped == ()


def test_errors_of_the_camera_are_as_large_as_stated() -> None:
    scores = []
    for seed in range(6):
        film, rough = film_and_rough(seed)
        fit = calibrated_layout(film.sightings, rough, ROUGH).fit
        scores.append((fit.camera[0] - CAMERA[0]) / np.sqrt(fit.covariance[0, 0]))

    assert np.sqrt(np.mean(np.square(scores))) < 2


def test_a_camera_file_of_another_lens_is_not_taken_for_a_film_of_single_tags() -> None:
    film, rough = film_and_rough()
    known = Camera(CAMERA * np.array([1.2, 1, 1, 1, 1, 1, 1, 1]), ROUGH.sd / 100)
    layout = calibrated_layout(film.sightings, rough, known)

    assert layout.fit.covariance[0, 0] >= known.sd[0] ** 2, "what does not fit tells less than the file"
    assert not [flag for flag in layout.flags if "single tags" in flag]


def test_a_slipped_tag_is_named_and_left_out() -> None:
    film, rough = film_and_rough()
    rng = np.random.default_rng(2)
    moved = [
        replace(tag, centre_m=tag.centre_m + np.array([0.0, 0.012, 0.0])) if tag.id == 21 else tag
        for tag in film.rig.tags
    ]
    later = invented_film(rng, rig=replace(film.rig, tags=tuple(moved))).sightings
    half = film.sightings.time_s.size // 2
    early = film.sightings
    mixed = Sightings(
        early.time_s,
        np.concatenate([early.frame[early.frame < half], later.frame[later.frame >= half]]),
        np.concatenate([early.tag[early.frame < half], later.tag[later.frame >= half]]),
        np.concatenate([early.corners_px[early.frame < half], later.corners_px[later.frame >= half]]),
    )
    layout = calibrated_layout(mixed, rough, ROUGH)

    assert layout.slipped == (21,)
    assert any("tag 21 on trunk does not hold still" in flag for flag in layout.flags)
    assert worst_between_tags_deg(layout, film.rig) < 0.5


def test_places_may_be_left_out_of_the_rig() -> None:
    film, _ = film_and_rough()
    bare = replace(film.rig, tags=tuple(replace(tag, centre_m=None, rotvec_rad=None) for tag in film.rig.tags))
    layout = calibrated_layout(film.sightings, bare, ROUGH)

    assert worst_between_tags_deg(layout, film.rig) < 0.5
    assert sum("its places were not measured" in flag for flag in layout.flags) == 2


def test_a_tag_that_was_never_seen_is_said() -> None:
    film, rough = film_and_rough()
    without = film.sightings.of(film.sightings.tag != 3)

    assert "tag 3 on head was never seen" in calibrated_layout(without, rough, ROUGH).flags


def test_no_tag_at_all_is_an_error_that_says_what_to_check() -> None:
    film, rough = film_and_rough()
    nothing = film.sightings.of(np.zeros(len(film.sightings.tag), dtype=bool))

    with pytest.raises(LayoutError, match="check family, ids, light and focus"):
        calibrated_layout(nothing, rough, ROUGH)


def test_axes_that_nobody_measured_well_are_as_unknown_as_the_hand_was() -> None:
    film, rough = film_and_rough()
    sloppy = replace(rough, by_hand_m=2 * rough.by_hand_m, by_hand_rad=2 * rough.by_hand_rad)
    sds = [np.sqrt(np.diag(calibrated_layout(film.sightings, rig, ROUGH).gauge_covariance)) for rig in (rough, sloppy)]

    np.testing.assert_allclose(sds[1] / sds[0], 2, rtol=0.05)
