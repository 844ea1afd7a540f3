"""A camera from pictures of the printed board: the views that differ most, fitted by OpenCV, and how sure it is.

The standard deviations come from the residuals, each view counted as one piece of evidence: what is wrong with a view
as a whole, such as a hand that moved, is not hidden by its many corners (the "sandwich" of White, Econometrica 1982).
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from onthree.capture.camera import PARAMETERS, Camera, projected, projection_slopes
from onthree.capture.film import ByteArray
from onthree.capture.poses import cross_matrices
from onthree.sources import table

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

LEAST_CORNERS = 8
"""Corners of the board without which a view is not used."""
LEAST_VIEWS, MOST_VIEWS = 8, 40
LEAST_TILT_DEG, LEAST_TILTED = 15.0, 4
"""So many views must be tilted by so much: a board that is always flat on does not tell focal from distance."""
GRID = (6, 4)
LEAST_COVERED_RATIO = 0.6
"""Share of the picture, in 6 by 4 parts, in which corners of the board must have been."""
MOST_FOCAL_SD_RATIO = 0.01
POOR_VIEW = 2.5
"""A view with this many times the usual residual was blurred or moved, and is dropped once."""
FLAGS = cv2.CALIB_FIX_K3


class CalibrationError(ValueError):
    """Pictures of the board that give no camera; says every problem and what to do."""

    def __init__(self, problems: Sequence[str]) -> None:
        super().__init__("calibration: " + "; ".join(problems))
        self.problems = list(problems)


@dataclass(frozen=True, eq=False)
class BoardView:
    """The board in one picture: which of its inner corners (k) were seen, and where (k, 2) [px]."""

    ids: IntArray
    corners_px: FloatArray


@dataclass(frozen=True, eq=False)
class Calibration:
    """A camera, how many views it rests on, how far corners are off [px], and how much of the picture they cover."""

    camera: Camera
    view_count: int
    rms_px: float
    covered_ratio: float
    most_tilt_deg: float


def board_views(pictures: Iterable[ByteArray], board: cv2.aruco.CharucoBoard) -> Iterator[BoardView]:
    """The board in those pictures that show enough of it."""
    detector = cv2.aruco.CharucoDetector(board)
    for luma in pictures:
        corners, ids, _, _ = detector.detectBoard(np.ascontiguousarray(luma))
        if ids is not None and len(ids) >= LEAST_CORNERS:
            yield BoardView(np.asarray(ids, np.int64).ravel(), np.asarray(corners, np.float64).reshape(-1, 2))


def calibrated(
    views: Sequence[BoardView], board: cv2.aruco.CharucoBoard, width: int, height: int, is_focus_locked: bool = False
) -> Calibration:
    """The camera of the views. Raises CalibrationError with every problem.

    Without a focus locked at the distance that is filmed later, the focal length may differ from that of the board.
    """
    if len(views) < LEAST_VIEWS:
        seen = f"the board was found in {len(views)} pictures, at least {LEAST_VIEWS} are needed"
        fix = "is it this board, whole, flat, lit evenly and in focus? Show it longer, from more sides"
        raise CalibrationError([f"{seen}: {fix}"])
    corner_m = np.asarray(board.getChessboardCorners(), np.float64)
    chosen = _most_different(views, corner_m, width, height)
    fit = _fitted(chosen, corner_m, width, height)
    usual_px = float(np.median(fit.view_rms_px))
    kept = [view for view, off_px in zip(chosen, fit.view_rms_px, strict=True) if off_px <= POOR_VIEW * usual_px]
    if LEAST_VIEWS <= len(kept) < len(chosen):
        fit = _fitted(kept, corner_m, width, height)
    sd = _standard_deviations(fit)
    if not is_focus_locked:
        by_focus = next(float(row["sd"]) for row in table("film_beliefs") if row["name"] == "focal_by_focus")
        sd[0] = np.hypot(sd[0], by_focus * fit.values[0])
    covered_ratio = _covered_ratio(views, width, height)
    problems = list(_problems(fit, sd, covered_ratio))
    if problems:
        raise CalibrationError(problems)
    rms_px = float(np.sqrt(np.mean(fit.view_rms_px**2)))
    return Calibration(Camera(fit.values, sd), len(fit.views), rms_px, covered_ratio, float(fit.tilt_deg.max()))


@dataclass(frozen=True, eq=False)
class _Fit:
    """Camera (8), views, corners of the board (c, 3) [m], its poses by view (v, 3, 3), (v, 3), residuals (v) [px]."""

    values: FloatArray
    views: Sequence[BoardView]
    corner_m: FloatArray
    rotation: FloatArray
    place_m: FloatArray
    view_rms_px: FloatArray

    @property
    def tilt_deg(self) -> FloatArray:
        """How far the board is turned from flat on to the line of sight, by view."""
        middle_m = self.place_m + self.rotation @ self.corner_m.mean(axis=0)
        sight = middle_m / np.linalg.norm(middle_m, axis=1, keepdims=True)
        cosine = np.abs((self.rotation[:, :, 2] * sight).sum(axis=1))
        tilt_deg: FloatArray = np.degrees(np.arccos(np.clip(cosine, 0, 1)))
        return tilt_deg


def _fitted(views: Sequence[BoardView], corner_m: FloatArray, width: int, height: int) -> _Fit:
    points = [corner_m[view.ids].astype(np.float32) for view in views]
    pixels = [view.corners_px.astype(np.float32) for view in views]
    start = np.array([[max(width, height) * 0.8, 0, width / 2], [0, max(width, height) * 0.8, height / 2], [0, 0, 1]])
    try:
        _, matrix, bends, turns, places, _, _, off_px = cv2.calibrateCameraExtended(
            points, pixels, (width, height), start, np.zeros(5), flags=FLAGS | cv2.CALIB_USE_INTRINSIC_GUESS
        )
    except cv2.error as error:
        raise CalibrationError([f"the views do not fit together ({error.err}): is the board flat and whole?"]) from None
    values = np.array([matrix[0, 0], matrix[1, 1] / matrix[0, 0], *matrix[:2, 2], *np.ravel(bends)[:4]])
    rotation = Rotation.from_rotvec(np.reshape(turns, (-1, 3))).as_matrix()
    return _Fit(values, views, corner_m, rotation, np.reshape(places, (-1, 3)), np.ravel(off_px))


def _standard_deviations(fit: _Fit) -> FloatArray:
    """How sure each of the camera's parameters (8) is, poses of the board taken out by the Schur complement."""
    count = len(PARAMETERS)
    information = np.zeros((count, count))
    scores = np.zeros((len(fit.views), count))
    square = spare = 0.0
    for row, view in enumerate(fit.views):
        turned = fit.corner_m[view.ids] @ fit.rotation[row].T
        points = turned + fit.place_m[row]
        by_point, by_camera = projection_slopes(fit.values, points)
        by_pose = np.concatenate([-by_point @ cross_matrices(turned), by_point], axis=-1).reshape(-1, 6)
        by_camera = by_camera.reshape(-1, count)
        residual = (view.corners_px - projected(fit.values, points)).ravel()
        own = by_camera - by_pose @ np.linalg.lstsq(by_pose, by_camera, rcond=None)[0]
        information += own.T @ own
        scores[row] = own.T @ residual
        square += float(residual @ residual)
        spare += residual.size - 6
    inverse = np.linalg.inv(information)
    by_corners = inverse * square / max(spare - count, 1.0)
    by_views = inverse @ scores.T @ scores @ inverse * len(fit.views) / max(len(fit.views) - 2, 1)
    return np.sqrt(np.maximum(np.diag(by_corners), np.diag(by_views)))


def _problems(fit: _Fit, sd: FloatArray, covered_ratio: float) -> Iterator[str]:
    tilted = int((fit.tilt_deg >= LEAST_TILT_DEG).sum())
    if tilted < LEAST_TILTED:
        given = (
            f"the board is tilted by {LEAST_TILT_DEG:.0f} degrees or more in {tilted} views, {LEAST_TILTED} are needed"
        )
        yield f"{given}: turn it to each side, and up and down, by about 30 degrees"
    if covered_ratio < LEAST_COVERED_RATIO:
        given = f"the board covered {covered_ratio:.0%} of the picture, {LEAST_COVERED_RATIO:.0%} are needed"
        yield f"{given}: bring it to every corner of the picture"
    off_ratio = sd[0] / fit.values[0]
    if tilted >= LEAST_TILTED and off_ratio > MOST_FOCAL_SD_RATIO:
        given = f"the focal length is known to {off_ratio:.1%}, {MOST_FOCAL_SD_RATIO:.0%} is needed"
        yield f"{given}: hold phone and board still for each view, larger in the picture, more tilted"


def _covered_ratio(views: Sequence[BoardView], width: int, height: int) -> float:
    corners_px = np.concatenate([view.corners_px for view in views])
    cell = np.clip(corners_px / (width, height) * GRID, 0, np.array(GRID) - 1).astype(int)
    return len(np.unique(cell, axis=0)) / (GRID[0] * GRID[1])


def _most_different(views: Sequence[BoardView], corner_m: FloatArray, width: int, height: int) -> list[BoardView]:
    """Views chosen one by one, each the most different from those before in place, size and slant."""
    looks = np.array([_look(view, corner_m, width, height) for view in views])
    chosen = [int(np.argmax([len(view.ids) for view in views]))]
    apart = np.linalg.norm(looks - looks[chosen[0]], axis=1)
    while len(chosen) < min(MOST_VIEWS, len(views)):
        chosen.append(int(np.argmax(apart)))
        apart = np.minimum(apart, np.linalg.norm(looks - looks[chosen[-1]], axis=1))
    return [views[index] for index in sorted(set(chosen))]


def _look(view: BoardView, corner_m: FloatArray, width: int, height: int) -> FloatArray:
    """Where the board is (2), how large (1) and how slanted (2), all about as large as one."""
    flat = corner_m[view.ids, :2]
    middle, size_m = corner_m[:, :2].mean(axis=0), np.ptp(corner_m[:, :2], axis=0).max()
    matrix, _ = cv2.findHomography(((flat - middle) / size_m).astype(np.float64), view.corners_px / max(width, height))
    if matrix is None:
        return np.zeros(5)
    at = matrix[:2, 2] / matrix[2, 2]
    size_ratio = np.sqrt(abs(np.linalg.det(matrix[:2, :2] / matrix[2, 2])))
    return np.concatenate([at, [size_ratio], matrix[2, :2] / matrix[2, 2] * 3])
