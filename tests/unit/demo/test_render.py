"""Rendered frames show tags where they truly are: by this project's detector, and by OpenCV's as a second way."""

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from typing import Any

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from onthree.capture.film import Frame
from onthree.capture.poses import FLIP, Poses
from onthree.capture.rig import Rig, RigTag
from onthree.capture.tags import TagFinder
from onthree.demo.render import Renderer, board_plate, tag_image, true_corners_px
from onthree.demo.scene import Blob, Flash, Movement, Phone, Scene, Slip, Zoom, still

FloatArray = NDArray[np.float64]

WIDTH, HEIGHT = 480, 360
CAMERA = np.array([700.0, 1.002, 236.0, 183.0, 0.05, -0.08, 0.0006, -0.0004])
SIDE_M = 0.09
CLEAN: dict[str, Any] = {"exposure_s": 1e-5, "noise_sd_ratio": 0.3 / 255}


def tag(number: int, segment: str = "head", centre_m: tuple[float, float, float] = (0, 0, 0)) -> RigTag:
    return RigTag(number, segment, SIDE_M, np.array(centre_m), np.zeros(3))


RIG = Rig("tag36h11", "tags in the air", (tag(3), tag(21, "trunk")), 0.01, 0.1)


def facing(turn_deg: tuple[float, float, float], place_m: tuple[float, float, float]) -> Poses:
    """A plate before a camera at the room's origin that looks along the room's Z."""
    turned = Rotation.from_matrix(FLIP) * Rotation.from_euler("xyz", turn_deg, degrees=True)
    return Poses(turned.as_matrix()[None], np.array([place_m]))


def standing(pose: Poses) -> Movement:
    return Movement(np.zeros(1), pose)


def moving(pose: Poses, speed_m: tuple[float, float, float], spin_rad: tuple[float, float, float]) -> Movement:
    """Even motion over two seconds, through the pose at time zero."""
    time_s = np.linspace(-1, 1, 401)
    turned = Rotation.from_rotvec(np.outer(time_s, spin_rad)) * Rotation.from_matrix(pose.rotation[0])
    return Movement(time_s, Poses(turned.as_matrix(), pose.place_m + np.outer(time_s, speed_m)))


HEAD = facing((20, -25, 12), (-0.14, -0.05, 1.2))
TRUNK = facing((-15, 30, -8), (0.16, 0.06, 1.3))


def scene(changes: Mapping[str, Any] | None = None, **phone: Any) -> Scene:
    seen_by = Phone(CAMERA, WIDTH, HEIGHT, still(), np.zeros(1), **(CLEAN | phone))
    staged = Scene(RIG, {"head": standing(HEAD), "trunk": standing(TRUNK)}, (seen_by,))
    return replace(staged, **(changes or {}))


def drawn(staged: Scene) -> NDArray[np.uint8]:
    return Renderer(staged, staged.phones[0]).frame(0)


def found(staged: Scene, luma: NDArray[np.uint8]) -> dict[int, FloatArray]:
    finder = TagFinder(staged.rig.family, {each.id: each.segment for each in staged.rig.tags})
    return {number: seen.corners_px for number, seen in finder.find(Frame(0.0, luma)).items()}


def errors(staged: Scene) -> FloatArray:
    """Found minus true corners (n, 4, 2) [px]."""
    seen = found(staged, drawn(staged))
    true = true_corners_px(staged, staged.phones[0], 0.0)
    assert set(seen) == {each.id for each in staged.rig.tags}
    return np.array([seen[each.id] - true[row] for row, each in enumerate(staged.rig.tags)])


@cache
def clean_errors() -> FloatArray:
    """Corner errors (n, 2) [px] over many poses, without noise to speak of."""
    rng = np.random.default_rng(2)
    every = []
    for _ in range(12):
        turns = rng.uniform(-40, 40, (2, 3))
        poses = [
            facing(tuple(turn), (x, rng.uniform(-0.1, 0.1), rng.uniform(1.0, 1.4)))
            for turn, x in zip(turns, (-0.15, 0.15), strict=True)
        ]
        staged = scene({"movements": {"head": standing(poses[0]), "trunk": standing(poses[1])}})
        every.append(errors(staged).reshape(-1, 2))
    return np.concatenate(every)


def test_corners_are_found_where_they_truly_are() -> None:
    off_px = clean_errors()

    assert np.median(np.linalg.norm(off_px, axis=1)) < 0.03
    assert np.abs(off_px.mean(axis=0)).max() < 0.01


def test_second_detector_finds_the_same_corners_in_the_same_order() -> None:
    """OpenCV's own detector of the same open tags; its corners are good to some tenths of a pixel."""
    settings = cv2.aruco.DetectorParameters()
    settings.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
    staged = scene()

    corners, numbers, _ = cv2.aruco.ArucoDetector(dictionary, settings).detectMarkers(drawn(staged))

    assert numbers is not None
    true = dict(zip((3, 21), true_corners_px(staged, staged.phones[0], 0.0), strict=True))
    assert set(numbers.ravel()) == {3, 21}
    for number, seen in zip(numbers.ravel(), corners, strict=True):
        assert np.abs(np.asarray(seen)[0] - true[int(number)]).max() < 0.8


def test_true_corners_are_those_that_opencv_projects() -> None:
    values = CAMERA
    inner = np.array([[values[0], 0, values[2]], [0, values[0] * values[1], values[3]], [0, 0, 1]])
    square = np.array([[-1, 1, 0], [1, 1, 0], [1, -1, 0], [-1, -1, 0]]) * SIDE_M / 2
    turn, _ = cv2.Rodrigues(HEAD.rotation[0])

    pixels, _ = cv2.projectPoints(square, turn, HEAD.place_m[0], inner, values[4:8])

    np.testing.assert_allclose(true_corners_px(scene(), scene().phones[0], 0.0)[0], pixels[:, 0], atol=1e-9)


def test_noise_moves_corners_by_little_and_not_to_one_side() -> None:
    off_px = np.concatenate(
        [errors(replace(scene(noise_sd_ratio=3 / 255), seed=seed)).reshape(-1, 2) for seed in range(8)]
    )

    assert 0.005 < off_px.std() < 0.06
    assert np.abs(off_px.mean(axis=0)).max() < 0.02


def test_long_exposure_smears_a_moving_tag_about_its_middle() -> None:
    """1.2 m away, 0.6 m/s for 1/100 s: 6 mm, which is 3.5 px."""
    staged = scene(
        {"movements": {"head": moving(HEAD, (0.6, 0, 0), (0, 0, 0)), "trunk": standing(TRUNK)}}, exposure_s=0.01
    )
    sharp = scene({"movements": {"head": standing(HEAD), "trunk": standing(TRUNK)}})

    def steepest(picture: NDArray[np.uint8]) -> float:
        corners = true_corners_px(sharp, sharp.phones[0], 0.0)[0].astype(int)
        box = picture[corners[:, 1].min() : corners[:, 1].max(), corners[:, 0].min() - 8 : corners[:, 0].max() + 8]
        return float(np.abs(np.diff(box.astype(float), axis=1)).max())

    assert steepest(drawn(staged)) < 0.7 * steepest(drawn(sharp))
    assert np.abs(errors(staged)).max() < 0.2


def test_rolling_shutter_moves_corners_by_what_the_velocity_says() -> None:
    speed_m = 0.8
    movement = {"head": moving(HEAD, (speed_m, 0, 0), (0, 0, 0)), "trunk": standing(TRUNK)}
    rolling, whole = scene({"movements": movement}, readout_s=0.02), scene({"movements": movement})

    true, at_once = (true_corners_px(each, each.phones[0], 0.0)[0] for each in (rolling, whole))

    late_s = (at_once[:, 1] - (HEIGHT - 1) / 2) / HEIGHT * 0.02
    np.testing.assert_allclose(true[:, 0] - at_once[:, 0], late_s * speed_m * 700 / HEAD.place_m[0, 2], rtol=0.12)
    assert np.abs(errors(rolling)).max() < 0.08


def test_spinning_tag_of_a_rolling_shutter_is_drawn_where_its_rows_say() -> None:
    movement = {
        "head": moving(HEAD, (0.3, -0.4, 0.2), (1.0, -1.5, 2.0)),
        "trunk": moving(TRUNK, (0, 0.5, 0), (0, 2, 0)),
    }

    assert np.abs(errors(scene({"movements": movement}, readout_s=0.016))).max() < 0.08


def test_focal_change_is_drawn() -> None:
    staged = scene(zoom=Zoom(-1.0, 0.5, 1.06))

    assert np.abs(errors(staged)).max() < 0.08


def test_body_in_front_hides_a_tag_and_one_behind_does_not() -> None:
    before = Blob("room", still(None, np.array([-0.1, -0.04, 0.8])), np.array([0.08, 0.08, 0.05]))
    behind = Blob("room", still(None, np.array([0.16, 0.06, 1.6])), np.array([0.15, 0.15, 0.1]))
    staged = scene({"blobs": (before, behind)})

    assert set(found(staged, drawn(staged))) == {21}


def test_tag_that_faces_away_is_not_drawn() -> None:
    staged = scene({"movements": {"head": standing(facing((0, 170, 0), (-0.14, 0, 1.2))), "trunk": standing(TRUNK)}})

    assert set(found(staged, drawn(staged))) == {21}
    assert np.isnan(true_corners_px(staged, staged.phones[0], 0.0)[0]).all()


def test_plate_slips_at_its_moment() -> None:
    slip = Slip(-0.01, np.array([0.02, 0.0, 0.0]), np.array([0.0, 0.0, 0.1]))
    slipped, still_tight = scene({"slips": {3: slip}}), scene({"slips": {3: replace(slip, at_s=0.01)}})

    moved = true_corners_px(slipped, slipped.phones[0], 0.0) - true_corners_px(still_tight, still_tight.phones[0], 0.0)

    assert np.linalg.norm(moved[0], axis=1).min() > 5
    assert np.abs(moved[1]).max() == 0
    assert np.abs(errors(slipped)).max() < 0.08


def test_mirrored_film_shows_no_tag_and_its_mirror_image_does() -> None:
    staged = scene(is_mirrored=True)
    luma = drawn(staged)

    assert not found(staged, luma)
    assert set(found(staged, np.ascontiguousarray(luma[:, ::-1]))) == {3, 21}


def test_flash_brightens_the_rows_that_are_exposed_in_it() -> None:
    flash = {"flashes": (Flash(-0.0005, 0.001, 0.5),)}
    dark, lit = drawn(scene(readout_s=0.02, exposure_s=0.001)), drawn(scene(flash, readout_s=0.02, exposure_s=0.001))

    gain = lit.astype(float).mean(axis=1) / dark.mean(axis=1)

    assert gain[HEIGHT // 2] == pytest.approx(1.5, abs=0.05)
    np.testing.assert_allclose(gain[[10, -10]], 1.0, atol=0.02)


def test_camera_that_turns_takes_the_backdrop_along() -> None:
    time_s = np.array([0.0, 1.0])
    turning = Movement(time_s, Poses(Rotation.from_rotvec([[0, 0, 0], [0, 0.05, 0]]).as_matrix(), np.zeros((2, 3))))
    phone = Phone(CAMERA, WIDTH, HEIGHT, turning, time_s, **CLEAN)
    renderer = Renderer(replace(scene(), rig=replace(RIG, tags=()), phones=(phone,)), phone)

    shift = round(700 * np.tan(0.05))
    first, later = (renderer.frame(index).astype(float) for index in (0, 1))

    inner = (slice(100, 260), slice(150, 330))
    moved = first[inner[0], 150 + shift : 330 + shift]
    assert np.corrcoef(moved.ravel(), later[inner].ravel())[0, 1] > 0.9


def test_same_frame_is_the_same_again_and_noise_differs_between_frames() -> None:
    phone = replace(scene().phones[0], frame_s=np.array([0.0, 0.1]), noise_sd_ratio=3 / 255)
    staged = replace(scene(), phones=(phone,))
    one, two = Renderer(staged, phone), Renderer(staged, phone)

    np.testing.assert_array_equal(one.frame(1), two.frame(1))
    differs = one.frame(0).astype(float) - one.frame(1)
    assert differs.std() == pytest.approx(3 * np.sqrt(2), rel=0.1)


def test_white_border_is_a_cell_wide_and_family_is_the_one_asked() -> None:
    image = tag_image("tag36h11", 0)

    assert image.shape == (10, 10)
    assert (image[0] == 255).all() and (image[:, -1] == 255).all()
    assert (image[1, 1:-1] == 0).all()
    with pytest.raises(KeyError):
        tag_image("tagUnheardOf", 0)


def test_rendered_board_calibrates_the_camera() -> None:
    """The board and the calibration are OpenCV's own."""
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    board = cv2.aruco.CharucoBoard((7, 5), 0.04, 0.03, dictionary)
    detector = cv2.aruco.CharucoDetector(board)
    points, pixels = [], []
    rng = np.random.default_rng(5)
    for _ in range(12):
        pose = facing(
            tuple(rng.uniform(-35, 35, 3)), (rng.uniform(-0.08, 0.08), rng.uniform(-0.05, 0.05), rng.uniform(0.5, 0.8))
        )
        staged = replace(scene(), rig=replace(RIG, tags=()), plates=(board_plate(board, "room", pose),))
        corners, numbers, _, _ = detector.detectBoard(drawn(staged))
        if numbers is not None and len(numbers) >= 12:
            on_board, in_picture = board.matchImagePoints(corners, numbers)
            points.append(on_board), pixels.append(in_picture)

    _, inner, _, _, _ = cv2.calibrateCamera(points, pixels, (WIDTH, HEIGHT), None, None, flags=cv2.CALIB_FIX_K3)

    assert len(points) >= 8
    assert inner[0, 0] == pytest.approx(CAMERA[0], rel=0.01)
    np.testing.assert_allclose(inner[:2, 2], CAMERA[2:4], atol=8)
