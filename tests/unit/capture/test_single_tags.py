"""One tag on each segment: an answer with a band that is honest about it, no silent flip."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from onthree.capture.camera import guessed_camera
from onthree.capture.lost import HIDDEN, OPEN, lost_stretches
from onthree.capture.tagged_video import TaggedVideo, video_from_sightings
from tests.invented_film import CAMERA, HEIGHT, WIDTH, FloatArray, true_rig
from tests.invented_rehearsal import STILL_S, Rehearsal, one_tag_each, rehearsal

FILMS = 8


def film_and_read(seed: int) -> tuple[Rehearsal, TaggedVideo]:
    """Tags turned by 5 to 30 degrees on their segments, 2 to 3 m away, noise that goes along from frame to frame."""
    rng = np.random.default_rng(seed)
    rig = one_tag_each(true_rig(), turned_deg=rng.uniform(5, 30))
    film = rehearsal(
        rng, duration_s=4.0, distance_m=rng.uniform(2, 3), sd_px=rng.uniform(0.05, 0.15), correlation_ratio=0.4, rig=rig
    )
    camera = guessed_camera(WIDTH, HEIGHT, CAMERA[0] * rng.normal(1, 0.03))
    return film, video_from_sightings(film.sightings, rig, camera, STILL_S)


def off_and_sd(film: Rehearsal, video: TaggedVideo, segment: str) -> tuple[FloatArray, FloatArray]:
    """Errors (n, 3) [rad] of the known frames, and what is stated of them; the rig is exact, so axes play no part."""
    track = video.bodies[segment]
    known = track.is_valid
    true = Rotation.from_matrix(film.poses_at[segment](film.sightings.time_s).rotation)[known]
    found = Rotation.from_matrix(track.smoothed.poses.rotation[known])
    is_counted = np.array([not name.startswith(("axes", "origin")) for name in track.shared_names])
    shared = track.shared[is_counted][:, known, :3]
    variance = np.einsum("nii->ni", track.smoothed.noise[known, :3, :3]) + (shared**2).sum(axis=0)
    return (found * true.inv()).as_rotvec(), np.sqrt(variance)


@pytest.fixture(scope="module")
def films() -> list[tuple[Rehearsal, TaggedVideo]]:
    return [film_and_read(seed) for seed in range(FILMS)]


def test_where_the_tag_is_seen_there_is_mostly_an_answer(films: list[tuple[Rehearsal, TaggedVideo]]) -> None:
    for film, video in films:
        for tag in film.rig.tags:
            seen = np.isin(np.arange(len(film.sightings.time_s)), film.sightings.frame[film.sightings.tag == tag.id])

            assert video.bodies[tag.segment].is_valid[seen].mean() > 0.9


def test_no_answer_is_two_degrees_off(films: list[tuple[Rehearsal, TaggedVideo]]) -> None:
    worst_deg = [
        np.degrees(np.abs(off_and_sd(film, video, segment)[0]).max())
        for film, video in films
        for segment in ("head", "trunk")
    ]

    assert max(worst_deg) < 2.0


def test_bands_are_honest_about_a_single_tag(films: list[tuple[Rehearsal, TaggedVideo]]) -> None:
    """Pooled over films; the interval is clustered by film, for the errors of one go along with each other."""
    held = []
    for film, video in films:
        inside = [np.abs(off) < 1.96 * sd for off, sd in (off_and_sd(film, video, name) for name in ("head", "trunk"))]
        held.append(np.concatenate(inside).mean())

    assert abs(np.mean(held) - 0.95) < 0.01 + 3 * np.std(held) / np.sqrt(FILMS)


def far_and_read(seed: int) -> tuple[Rehearsal, TaggedVideo]:
    """Tags of some twenty pixels that nearly face the camera, corners badly seen, and no more than two seconds."""
    rng = np.random.default_rng((seed, 78))
    rig = one_tag_each(true_rig(), turned_deg=rng.uniform(0, 12))
    film = rehearsal(
        rng, duration_s=2.0, distance_m=rng.uniform(3, 6), sd_px=rng.uniform(0.1, 0.4), correlation_ratio=0.4, rig=rig
    )
    camera = guessed_camera(WIDTH, HEIGHT, CAMERA[0] * rng.normal(1, 0.03))
    return film, video_from_sightings(film.sightings, rig, camera, STILL_S)


@pytest.fixture(scope="module")
def far_films() -> list[tuple[Rehearsal, TaggedVideo]]:
    return [far_and_read(seed) for seed in range(12)]


def test_no_reading_is_flipped_in_silence(far_films: list[tuple[Rehearsal, TaggedVideo]]) -> None:
    """A wrong reading is tens of degrees off."""
    for film, video in far_films:
        for segment in ("head", "trunk"):
            off, sd = off_and_sd(film, video, segment)

            assert (np.abs(off) < 4 * sd).all()
            assert np.degrees(np.abs(off).max(initial=0.0)) < 15


def test_what_stays_undecided_is_said_by_stretches_with_how_far_apart(
    far_films: list[tuple[Rehearsal, TaggedVideo]],
) -> None:
    undecided = 0
    for _, video in far_films:
        time_s, every = video.motion.time_s, lost_stretches(video.motion.time_s, video.bodies)
        undecided += sum(OPEN in one.why for one in every)
        for segment, track in video.bodies.items():
            own = [one for one in every if one.segment == segment]
            frames = np.concatenate([np.zeros(0, int), *(_rows(time_s, one.start_s, one.end_s) for one in own)])
            flag = f"{segment} is not known in {len(frames)} of {len(time_s)} frames: "

            assert sorted(frames) == list(np.flatnonzero(~track.is_valid))
            assert any(each.startswith(flag) for each in video.motion.flags) == bool(own)

    assert undecided > 3, "films that are not hard tell nothing"


def _rows(time_s: FloatArray, start_s: float, end_s: float) -> NDArray[np.intp]:
    return np.flatnonzero((time_s >= start_s) & (time_s <= end_s))


def test_hidden_stretches_are_told_from_undecided_ones() -> None:
    film, _ = film_and_read(0)
    time_s = film.sightings.time_s[film.sightings.frame]
    head = next(tag.id for tag in film.rig.tags if tag.segment == "head")
    hidden = film.sightings.of((film.sightings.tag != head) | (time_s < 2.0) | (time_s > 2.6))
    video = video_from_sightings(hidden, film.rig, guessed_camera(WIDTH, HEIGHT, CAMERA[0]), STILL_S)
    (one,) = [each for each in lost_stretches(video.motion.time_s, video.bodies) if each.segment == "head"]

    assert one.why == HIDDEN
    assert (one.start_s, one.end_s) == pytest.approx((2.0, 2.6), abs=0.001)
    assert any(f"2.0 to 2.6 s, {HIDDEN}" in flag for flag in video.motion.flags)


def test_small_single_tags_leave_the_focal_length_as_it_is_believed(
    far_films: list[tuple[Rehearsal, TaggedVideo]],
) -> None:
    """Left to such films it came out up to 70 % too short, and the stated 95 % held two thirds."""
    off, is_held = [], []
    for _, video in far_films:
        fit = video.layout.fit
        off.append((fit.camera[0] - CAMERA[0]) / np.sqrt(fit.covariance[0, 0]))
        is_held.append(any("do not tell the focal length" in flag for flag in video.motion.flags))

    assert np.abs(off).max() < 3
    assert sum(is_held) > 6


def test_what_cannot_be_told_is_said() -> None:
    """A single tag that faces the camera all along, far away: both readings fit, and nothing moves to tell them."""
    rng = np.random.default_rng(3)
    rig = one_tag_each(true_rig())
    film = rehearsal(rng, duration_s=1.4, distance_m=5.0, sd_px=0.4, rig=rig)
    video = video_from_sightings(film.sightings, rig, guessed_camera(WIDTH, HEIGHT, CAMERA[0]), STILL_S)
    for segment in ("head", "trunk"):
        track = video.bodies[segment]
        lost = ~track.is_valid
        off, sd = off_and_sd(film, video, segment)
        if lost.any():
            assert any(flag.startswith(f"{segment} is not known in {lost.sum()} of") for flag in video.motion.flags)
        assert (np.abs(off) < 4 * sd).all()
