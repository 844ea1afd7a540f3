"""Errors that all moments share: what they do to the poses, and that what is stated covers the truth of many films."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from onthree.capture.bundle import CAMERA_COUNT
from onthree.capture.camera import guessed_camera
from onthree.capture.layout import calibrated_layout, views_of
from onthree.capture.poses import Views, fitted_poses, joined
from onthree.capture.readings import read_bodies
from onthree.capture.shared_errors import body_errors, shared_errors
from tests.invented_film import CAMERA, HEIGHT, WIDTH, invented_film, measured_by_hand

FRAMES = 60
ROUGH = guessed_camera(WIDTH, HEIGHT, CAMERA[0] * 1.03)


def test_a_shared_error_turns_the_poses_as_stated() -> None:
    """The second way: put the error in, fit all poses again, see how they turned."""
    rng = np.random.default_rng(2)
    film = invented_film(rng, frames=FRAMES)
    layout = calibrated_layout(film.sightings, measured_by_hand(film.rig, rng), ROUGH)
    fit, errors = layout.fit, shared_errors(layout)
    views = views_of(film.sightings, layout.tags, layout.segments)
    start = joined([film.bodies[segment] for segment in layout.segments])
    before, _, _ = fitted_poses(fit.camera, fit.layout, start, views, fit.sd_px, rounds=15)
    stated = body_errors(fit.camera, fit.layout, before, views, errors, fit.sd_px)
    is_sure = np.bincount(views.body, minlength=len(stated)) >= 2
    for column, name in enumerate(errors.names):
        little = 0.05 * errors.columns[:, column]
        moved = fit.layout.moved(little[CAMERA_COUNT:].reshape(-1, 6))
        after, _, _ = fitted_poses(fit.camera + little[:CAMERA_COUNT], moved, before, views, fit.sd_px, rounds=15)
        turned = Rotation.from_matrix(before.rotation.transpose(0, 2, 1) @ after.rotation).as_rotvec() / 0.05
        shifted_m = (after.place_m - before.place_m) / 0.05
        for found, wanted in ((turned, stated[:, :3, column]), (shifted_m, stated[:, 3:, column])):
            size = np.abs(wanted[is_sure]).max()
            np.testing.assert_allclose(found[is_sure], wanted[is_sure], atol=0.05 * size + 5e-6, err_msg=name)


def test_parts_add_up_to_the_covariance_of_camera_and_layout() -> None:
    rng = np.random.default_rng(3)
    film = invented_film(rng, frames=FRAMES)
    layout = calibrated_layout(film.sightings, measured_by_hand(film.rig, rng), ROUGH)
    columns = shared_errors(layout).columns
    covered = np.sqrt((columns[CAMERA_COUNT:] ** 2).sum(axis=1))
    stated = np.sqrt(np.diag(layout.fit.covariance)[CAMERA_COUNT:])
    is_turn = np.tile([True] * 3 + [False] * 3, len(layout.tags))

    np.testing.assert_allclose(covered[is_turn], stated[is_turn], rtol=0.02)
    assert (columns[0] ** 2).sum() == pytest.approx(layout.fit.covariance[0, 0], rel=1e-6)


def share_inside(seed: int, is_measured_well: bool) -> float:
    """The share of a film in which the truth lies within the stated 95 %; without the axes if measured well."""
    rng = np.random.default_rng(seed)
    film = invented_film(rng, frames=FRAMES)
    layout = calibrated_layout(film.sightings, film.rig if is_measured_well else measured_by_hand(film.rig, rng), ROUGH)
    fit, errors = layout.fit, shared_errors(layout)
    is_counted = np.array([not (is_measured_well and name.startswith("axes")) for name in errors.names])
    views = views_of(film.sightings, layout.tags, layout.segments)
    turned, noise, shared, known = [], [], [], []
    for index in range(2):
        own = views.of((views.body >= index * FRAMES) & (views.body < (index + 1) * FRAMES))
        own = Views(own.corners_px, own.corner_m, own.tag, own.body - index * FRAMES)
        read = read_bodies(fit.camera, fit.layout, own, film.sightings.time_s, fit.sd_px)
        rotation = read.bodies.rotation
        covariance = np.linalg.inv(read.information + 1e-9 * np.eye(6))[:, :3, :3]
        turned.append(rotation)
        noise.append(rotation @ covariance @ rotation.transpose(0, 2, 1))
        shared.append(rotation @ body_errors(fit.camera, fit.layout, read.bodies, own, errors, fit.sd_px)[:, :3])
        known.append(read.is_decided)
    back = turned[1].transpose(0, 2, 1)
    columns = (back @ (shared[0] - shared[1]))[..., is_counted]
    covariance = back @ (noise[0] + noise[1]) @ turned[1] + columns @ columns.transpose(0, 2, 1)
    error = (Rotation.from_matrix(back @ turned[0]) * film.relative().inv()).as_rotvec()
    is_inside = np.abs(error) < 1.96 * np.sqrt(np.einsum("nii->ni", covariance))
    return float(is_inside[known[0] & known[1]].mean())


@pytest.mark.parametrize("is_measured_well", [True, False])
def test_stated_errors_cover_the_truth_of_many_films(is_measured_well: bool) -> None:
    """Pooled over the films; the interval is clustered by film, for the errors of one film go along with each other."""
    shares = [share_inside(100 + seed, is_measured_well) for seed in range(24)]

    assert abs(np.mean(shares) - 0.95) < 3 * np.std(shares) / np.sqrt(len(shares))
