"""Every film is worth something: the rung a run reached, and what would lift it."""

from datetime import date

import pytest

from onthree.programme.records import Recording, Run
from onthree.rehearsals.ladder import MANY_TAGS, Filmed, rung_of, rung_recorded


@pytest.mark.parametrize(
    ("filmed", "number"),
    [
        (Filmed(films_count=0), 0),
        (Filmed(films_count=1), 1),
        (Filmed(films_count=2, is_camera_calibrated=True), 1),
        (Filmed(films_count=1, head_tags_count=6), 1),
        (Filmed(films_count=1, head_tags_count=1, trunk_tags_count=1), 2),
        (Filmed(films_count=1, head_tags_count=6, trunk_tags_count=6, is_camera_calibrated=True), 2),
        (Filmed(films_count=2, head_tags_count=6, trunk_tags_count=MANY_TAGS - 1, is_camera_calibrated=True), 2),
        (Filmed(films_count=2, head_tags_count=6, trunk_tags_count=6), 2),
        (Filmed(films_count=2, head_tags_count=3, trunk_tags_count=3, is_camera_calibrated=True), 3),
    ],
)
def test_the_rung_reached(filmed: Filmed, number: int) -> None:
    rung = rung_of(filmed)

    assert rung.number == number
    assert bool(rung.lifts) == (number < 3)


@pytest.mark.parametrize(
    ("filmed", "lift"),
    [
        (Filmed(films_count=0), "put a phone on a stand"),
        (Filmed(films_count=1), "put them on the head and trunk"),
        (Filmed(films_count=1, head_tags_count=3), "put them on the trunk"),
        (Filmed(films_count=1, trunk_tags_count=3), "put them on the head"),
        (Filmed(films_count=1, head_tags_count=1, trunk_tags_count=1), "at least 3 tags on each"),
        (Filmed(films_count=2, head_tags_count=3, trunk_tags_count=3), "calibrate the phone"),
        (Filmed(films_count=1, head_tags_count=3, trunk_tags_count=3, is_camera_calibrated=True), "a second phone"),
    ],
)
def test_the_nearest_thing_that_lifts_it_comes_first(filmed: Filmed, lift: str) -> None:
    assert lift in rung_of(filmed).lifts[0]


def test_the_rung_as_measured_goes_before_what_the_recordings_tell() -> None:
    run = Run(code="RUN-1", day=date(2026, 11, 24))
    film = Recording(code="REC-1", run="RUN-1", file="a.mp4", kind="film")
    tagged = Recording(code="REC-2", run="RUN-1", file="b.mp4", kind="film with tags")
    log = Recording(code="REC-3", run="RUN-1", file="c.csv", kind="sensor log")

    assert [rung_recorded(run, found).number for found in ([], [log], [film], [film, tagged])] == [0, 0, 1, 2]
    measured = Run(code="RUN-1", day=date(2026, 11, 24), rung=3)
    assert (rung_recorded(measured, [film]).number, rung_recorded(measured, [film]).lifts) == (3, ())
