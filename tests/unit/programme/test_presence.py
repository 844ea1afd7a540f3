"""Who or what is there, as typed."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from onthree.programme.presence import LONGEST_MIN, HandsGroup, Presence, PresenceError, read_hands, read_presence


@pytest.mark.parametrize(
    ("typed", "presence"),
    [
        ("RT-04", Presence("RT-04")),
        ("  RT-04 ", Presence("RT-04")),
        ("AMB-2@8min", Presence("AMB-2", 8)),
        ("AMB-2 @ 8 min", Presence("AMB-2", 8)),
        ("AMB-2@0min", Presence("AMB-2", 0)),
        ("AMB-2@180min", Presence("AMB-2", 180)),
    ],
)
def test_presences_are_read(typed: str, presence: Presence) -> None:
    assert read_presence(typed) == presence


@pytest.mark.parametrize(
    "typed", ["", "@8min", "AMB-2@8", "AMB-2@8s", "AMB-2@-8min", "AMB-2@8.5min", "R-1, R-2", "R 1"]
)
def test_other_texts_are_refused_with_what_to_do(typed: str) -> None:
    with pytest.raises(PresenceError) as refused:
        read_presence(typed)

    expected = "a code such as RT-04 or AMB-2@8min expected: write minutes away as @8min"
    assert str(refused.value) == f"{typed!r} given, {expected}"


def test_who_is_hours_away_is_refused() -> None:
    with pytest.raises(PresenceError, match="at most 180 min expected: leave out what comes later"):
        read_presence("AMB-2@181min")


@given(st.from_regex(r"[A-Z]{1,4}-[0-9]{1,3}", fullmatch=True), st.integers(0, LONGEST_MIN))
def test_a_presence_reads_back_as_it_is_shown(code: str, from_min: int) -> None:
    assert read_presence(str(Presence(code, from_min))) == Presence(code, from_min)


def test_who_is_there_from_the_start_is_shown_without_minutes() -> None:
    assert [str(Presence("R-1")), str(Presence("R-1", 8))] == ["R-1", "R-1@8min"]


@pytest.mark.parametrize(
    ("typed", "groups"),
    [
        ("3", (HandsGroup(3),)),
        ("3,+2@8min", (HandsGroup(3), HandsGroup(2, 8))),
        ("3, 2@8 min, 1@12min", (HandsGroup(3), HandsGroup(2, 8), HandsGroup(1, 12))),
        ("0,+5@8min", (HandsGroup(0), HandsGroup(5, 8))),
    ],
)
def test_hands_are_read(typed: str, groups: tuple[HandsGroup, ...]) -> None:
    assert read_hands(typed) == groups


@pytest.mark.parametrize("typed", ["", "three", "3 2", "3,,2", "3+2@8min", "100", "3,-2"])
def test_other_hands_are_refused(typed: str) -> None:
    with pytest.raises(
        PresenceError, match=r"people such as 3 or 3,\+2@8min expected: write minutes as @8min, a comma between"
    ):
        read_hands(typed)


def test_hands_hours_away_are_refused() -> None:
    with pytest.raises(PresenceError, match="at most 180 min"):
        read_hands("3,+2@999min")
