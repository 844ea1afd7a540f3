"""Tags in rendered frames: the right order, the right half pixel, corners finer than a pixel, nothing made up."""

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from onthree.capture.corners import refined_corners
from onthree.capture.detectors import DetectorError
from onthree.capture.film import Frame
from onthree.capture.progress import Cancelled, Progress
from onthree.capture.tags import TagFinder, find_tags

OVER = 4
"""A frame is drawn this many times finer, then averaged to pixels."""
SHEET = 80
UPRIGHT = np.array([[60.3, 52.7], [131.2, 58.4], [126.9, 129.6], [56.1, 121.8]])
SEGMENTS = {7: "head", 9: "trunk"}


def drawn(tags: dict[int, NDArray[np.float64]], noise: float = 2.5, seed: int = 0) -> NDArray[np.uint8]:
    """A frame (240, 320) with upright tags drawn to corners (4, 2); pixel centres are at integers."""
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
    fine = np.full((240 * OVER, 320 * OVER), 150, np.uint8)
    for tag, corners_px in tags.items():
        sheet = cv2.copyMakeBorder(
            cv2.aruco.generateImageMarker(dictionary, tag, SHEET), *[SHEET // 8] * 4, cv2.BORDER_CONSTANT, value=255
        )
        inner = np.array([[0, 0], [SHEET, 0], [SHEET, SHEET], [0, SHEET]], float) + SHEET // 8 - 0.5
        target = (corners_px + 0.5) * OVER - 0.5
        warp = cv2.getPerspectiveTransform(inner.astype(np.float32), target.astype(np.float32))
        size = (fine.shape[1], fine.shape[0])
        covered = cv2.warpPerspective(np.full_like(sheet, 255), warp, size, flags=cv2.INTER_NEAREST) > 0
        fine = np.where(covered, cv2.warpPerspective(sheet, warp, size, flags=cv2.INTER_LINEAR), fine)
    small = cv2.GaussianBlur(cv2.resize(fine, (320, 240), interpolation=cv2.INTER_AREA), (0, 0), 0.6).astype(float)
    small = 30 + small * 0.75 + np.random.default_rng(seed).normal(0, noise, small.shape)
    return np.clip(np.round(small), 0, 255).astype(np.uint8)


def test_corners_go_round_from_the_top_left_and_pixel_centres_are_integers() -> None:
    off = []
    for seed in range(12):
        placed = UPRIGHT + np.random.default_rng(seed).uniform(0, 1, 2)
        found = TagFinder("tag36h11", SEGMENTS).find(Frame(0.0, drawn({7: placed}, seed=seed)))
        off.append(found[7].corners_px - placed)

    assert np.abs(off).max() < 0.25
    np.testing.assert_allclose(np.mean(off, axis=(0, 1)), 0, atol=0.03)
    assert np.std(off) < 0.06, "the corner refinement that the accuracy of angles rests on"


def test_a_covered_side_is_found_out() -> None:
    bare = drawn({7: UPRIGHT})
    covered = bare.copy()
    covered[85:100, 120:150] = 60
    misfits = [refined_corners(picture, UPRIGHT[None])[1][0] for picture in (bare, covered)]

    assert misfits[0] < 0.06
    assert misfits[1] > 0.12


def test_corners_without_a_step_stay_and_say_so() -> None:
    corners_px, misfit = refined_corners(np.full((240, 320), 90, np.uint8), UPRIGHT[None])

    np.testing.assert_array_equal(corners_px[0], UPRIGHT)
    assert np.isinf(misfit[0])


def test_the_second_library_says_the_same() -> None:
    """Against another program: OpenCV's detector, before and after the sides are fitted."""
    apart = []
    for seed in range(6):
        frame = Frame(0.0, drawn({7: UPRIGHT + np.random.default_rng(seed).uniform(0, 1, 2)}, seed=seed))
        first, second = (TagFinder("tag36h11", SEGMENTS, library).find(frame)[7] for library in ("pupil", "opencv"))
        apart.append(first.corners_px - second.corners_px)

    assert np.abs(np.median(apart, axis=0)).max() < 0.02
    assert np.abs(apart).max() < 0.1
    with pytest.raises(DetectorError, match="does not know tagStandard41h12"):
        TagFinder("tagStandard41h12", SEGMENTS, "opencv")


def test_a_frame_of_twice_the_size_is_thinned_twice_and_just_as_sharp() -> None:
    large = cv2.copyMakeBorder(drawn({7: UPRIGHT}), 0, 2160 - 240, 0, 3840 - 320, cv2.BORDER_CONSTANT, value=90)
    found = TagFinder("tag36h11", SEGMENTS).find(Frame(0.0, large.astype(np.uint8)))

    np.testing.assert_allclose(found[7].corners_px, UPRIGHT, atol=0.25)


def test_an_id_seen_twice_is_left_out_and_said() -> None:
    both = drawn({7: UPRIGHT})
    both[:, 160:] = drawn({7: UPRIGHT + np.array([120, 60])})[:, 160:]
    frames = [Frame(index / 30, both if index in (2, 5) else drawn({7: UPRIGHT})) for index in range(8)]
    found = find_tags(frames, "tag36h11", {7: "head"})
    frames = [Frame(index / 30, both if index == 0 else drawn({7: UPRIGHT})) for index in range(3)]
    once = find_tags(frames, "tag36h11", {7: "head"})

    assert len(found.tag) == 8, "the copy is out of the box in which the tag is followed"
    assert once.frame.tolist() == [1, 2]
    assert "two tags with id 7 were seen in one frame" in once.flags[0]
    twice = find_tags([Frame(index / 30, both) for index in range(3)], "tag36h11", {7: "head"})
    assert len(twice.tag) == 0
    assert "two tags with id 7 were seen in 3 frames; the id was left out" in twice.flags[0]
    assert twice.of(np.zeros(0, dtype=bool)).flags == twice.flags


def test_a_listener_hears_how_far_it_is_and_may_call_it_off(monkeypatch: pytest.MonkeyPatch) -> None:
    moments = iter(range(100))
    monkeypatch.setattr("onthree.capture.progress.time.monotonic", lambda: float(next(moments)))
    frames = [Frame(index / 10, np.zeros((24, 32), np.uint8)) for index in range(5)]
    heard: list[Progress] = []
    find_tags(frames, "tag36h11", SEGMENTS, heard.append, of_s=1.0)

    assert heard[0] == Progress(0.0, 1.0, None), "nobody knows yet"
    assert heard[2].done_s == 0.2
    assert heard[2].left_s == pytest.approx(0.8 * 3 / 0.2)
    assert heard[-1] == Progress(0.4, 0.4, 0.0)

    def call_off(progress: Progress) -> None:
        raise Cancelled

    with pytest.raises(Cancelled):
        find_tags(frames, "tag36h11", SEGMENTS, call_off)


def test_tags_of_no_rig_and_ids_seen_twice_are_not_taken() -> None:
    shifted = UPRIGHT + np.array([120, 60])

    assert TagFinder("tag36h11", {9: "trunk"}).find(Frame(0.0, drawn({7: UPRIGHT}))) == {}
    twice = np.minimum(drawn({7: UPRIGHT}), 255)
    twice[:, 160:] = drawn({7: shifted})[:, 160:]
    assert TagFinder("tag36h11", SEGMENTS).find(Frame(0.0, twice)) == {}


def test_a_tag_that_jumps_out_of_its_box_is_found_again() -> None:
    far = UPRIGHT + np.array([150, 80])
    frames = [Frame(0.0, drawn({7: UPRIGHT})), Frame(1 / 30, drawn({7: far}))]
    found = find_tags(frames, "tag36h11", {7: "head"})

    assert found.frame.tolist() == [0, 1]
    np.testing.assert_allclose(found.corners_px[1], far, atol=0.3)


@pytest.mark.parametrize("shade", [0, 128, 255])
def test_an_empty_frame_has_no_tag(shade: int) -> None:
    frames = [Frame(index / 30, np.full((240, 320), shade, np.uint8)) for index in range(3)]
    found = find_tags(frames, "tag36h11", SEGMENTS)

    assert len(found.tag) == 0
    assert len(found.time_s) == 3
