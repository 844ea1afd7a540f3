"""Poses of bodies: slopes by finite differences, readings as another library has them, the least variance."""

import cv2
import numpy as np
from scipy.spatial.transform import Rotation

from onthree.capture.camera import directions
from onthree.capture.layout import views_of
from onthree.capture.poses import SQUARE, Poses, Views, both_readings, fitted_poses, residuals, slopes
from onthree.capture.rig import Rig
from tests.invented_film import CAMERA, InventedFilm, invented_film, true_rig

SD_PX = 0.05


def layout_of(rig: Rig) -> Poses:
    turned = Rotation.from_rotvec([tag.rotvec_rad for tag in rig.tags]).as_matrix()
    return Poses(turned, np.array([tag.centre_m for tag in rig.tags]))


def true_bodies(film: InventedFilm) -> Poses:
    parts = [film.bodies[segment] for segment in film.rig.segments]
    return Poses(np.concatenate([part.rotation for part in parts]), np.concatenate([part.place_m for part in parts]))


def made(sd_px: float = 0.0, seed: int = 3) -> tuple[InventedFilm, Views, Poses, Poses]:
    film = invented_film(np.random.default_rng(seed), frames=40, sd_px=sd_px)
    return film, views_of(film.sightings, film.rig.tags, film.rig.segments), layout_of(film.rig), true_bodies(film)


def test_the_truth_leaves_no_residual() -> None:
    _, views, layout, bodies = made()

    np.testing.assert_allclose(residuals(CAMERA, layout, bodies, views), 0, atol=1e-9)


def test_slopes_are_those_of_finite_differences() -> None:
    _, views, layout, bodies = made()
    now = slopes(CAMERA, layout, bodies, views)
    for part in range(6):
        step = 1e-6 * np.eye(6)[part]
        by_body = residuals(CAMERA, layout, bodies.moved(np.tile(step, (len(bodies.place_m), 1))), views)
        by_tag = residuals(CAMERA, layout.moved(np.tile(step, (len(layout.place_m), 1))), bodies, views)

        np.testing.assert_allclose(now.by_body[..., part], -(by_body - now.residual) / 1e-6, atol=0.05)
        np.testing.assert_allclose(now.by_tag[..., part], -(by_tag - now.residual) / 1e-6, atol=0.05)


def test_both_readings_of_a_tag_are_those_of_opencv() -> None:
    _, views, _, _ = made(sd_px=0.02)
    read = both_readings(CAMERA, views)
    flat = directions(CAMERA, views.corners_px)
    for row in range(0, len(views), 7):
        _, turns, shifts, _ = cv2.solvePnPGeneric(
            views.corner_m[row], flat[row], np.eye(3), None, flags=cv2.SOLVEPNP_IPPE_SQUARE
        )
        mine = read[np.array([row, row + len(views)])]
        for turn, shift in zip(turns, shifts, strict=True):
            apart = Rotation.from_matrix(mine.rotation) * Rotation.from_rotvec(turn[:, 0]).inv()
            nearest = int(apart.magnitude().argmin())
            assert apart.magnitude()[nearest] < 1e-3
            np.testing.assert_allclose(mine.place_m[nearest], shift[:, 0], rtol=2e-3, atol=1e-3)


def test_poses_are_found_again_from_a_rough_start() -> None:
    _, views, layout, bodies = made()
    rng = np.random.default_rng(5)
    rough = bodies.moved(rng.normal(0, [0.05] * 3 + [0.02] * 3, (len(bodies.place_m), 6)))
    fitted, _, cost = fitted_poses(CAMERA, layout, rough, views, SD_PX, rounds=15)
    is_seen = np.bincount(views.body, minlength=len(cost)) >= 2

    np.testing.assert_allclose(fitted.rotation[is_seen], bodies.rotation[is_seen], atol=1e-6)
    np.testing.assert_allclose(fitted.place_m[is_seen], bodies.place_m[is_seen], atol=1e-6)


def test_the_stated_covariance_is_the_scatter_of_many_films() -> None:
    """The bound of Cramer and Rao, from corner noise alone, is reached by the fit: squares over it average one."""
    rng = np.random.default_rng(8)
    _, views, layout, bodies = made()
    off = []
    for _ in range(40):
        noisy = Views(
            views.corners_px + rng.normal(0, SD_PX, views.corners_px.shape), views.corner_m, views.tag, views.body
        )
        fitted, information, _ = fitted_poses(CAMERA, layout, bodies, noisy, SD_PX)
        turned = Rotation.from_matrix(bodies.rotation.transpose(0, 2, 1) @ fitted.rotation).as_rotvec()
        error = np.concatenate([turned, fitted.place_m - bodies.place_m], axis=1)
        is_seen = np.bincount(views.body, minlength=len(error)) >= 2
        off.append(np.einsum("ni,nij,nj->n", error, information, error)[is_seen] / 6)
    squares = np.concatenate(off)

    assert abs(squares.mean() - 1) < 4 * np.sqrt(2 / 6 / len(squares))


def test_corners_go_round_as_on_the_upright_sheet() -> None:
    assert SQUARE[0, 0] < 0 < SQUARE[0, 1], "first the top left"
    assert np.cross(SQUARE[1] - SQUARE[0], SQUARE[2] - SQUARE[1])[2] < 0, "then clockwise, seen from the front"
    assert len(true_rig().tags) == 11
