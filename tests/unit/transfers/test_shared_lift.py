"""Who lifts how much of one athlete on one device: nothing is computed from what nobody measured."""

from dataclasses import replace
from datetime import date

import pytest

from onthree.loads.chain import LoadPart
from onthree.programme.records import Gear, Responder
from onthree.transfers.shared_lift import direct_lift_kg, roll_of, shared_lift
from onthree.units import read_length, read_mass
from tests.invented import athlete, gear

ON = date(2026, 11, 27)
HEAVY = athlete("T1-60", 60, "130 kg", stature=read_length("193 cm"))
WORN = (LoadPart("body mass", read_mass("130 kg")), LoadPart("equipment worn", read_mass("9 kg")))
BOARD = gear(
    "BOARD",
    "long board",
    "long board",
    usable_length=read_length("193 cm"),
    pairs_of_holds=3,
    first_hold=read_length("25 cm"),
    hold_spacing=read_length("60 cm"),
    holds_apart=read_length("44 cm"),
)


def lifter(code: str, limit: str | None) -> Responder:
    return Responder(
        code=code, name=code, kind="medical-team member", lifting_limit=read_mass(limit) if limit else None
    )


def test_six_equal_people_share_a_heavy_athlete_as_in_the_worked_example() -> None:
    # 130 kg, 1.93 m, 9 kg worn, board 8 kg; six at .25, .85 and 1.45 m: of 23 kg each, 1.090 at best (own computation,
    # checked against HiGHS); equal arms 23.6, 24.5 and 25.4 kg a pair.
    lift = shared_lift(HEAVY, WORN, BOARD, ())
    four, six = lift.equal

    assert lift.load_kg == pytest.approx(147)
    assert (four.people, six.people) == (4, 6)
    assert six.best_kg / 23 == pytest.approx(1.090, abs=0.03)
    assert six.best_kg <= six.equal_arms_kg <= six.one_short_kg
    assert six.best_kg >= 147 / 6
    assert four.best_kg >= 147 / 4


def test_equal_people_stand_in_pairs() -> None:
    four = shared_lift(HEAVY, WORN, BOARD, ()).equal[0]

    assert sorted(hold.split()[1] for hold in four.holds if hold.startswith("left")) == sorted(
        hold.split()[1] for hold in four.holds if hold.startswith("right")
    )


def test_without_a_survey_table_the_worse_of_both_counts() -> None:
    by_table = [
        shared_lift(replace(HEAVY, survey_table=one), WORN, BOARD, ()).equal[1].best_kg for one in ("male", "female")
    ]

    assert shared_lift(replace(HEAVY, survey_table=None), WORN, BOARD, ()).equal[1].best_kg == max(by_table)


@pytest.mark.parametrize(
    ("device", "missing"),
    [
        (replace(BOARD, pairs_of_holds=None), "pairs of holds of the long board"),
        (replace(BOARD, own_mass=None), "own mass of the long board"),
        (replace(BOARD, hold_spacing=None), "hold spacing of the long board"),
    ],
)
def test_what_nobody_measured_is_named_and_nothing_is_computed(device: Gear, missing: str) -> None:
    lift = shared_lift(HEAVY, WORN, device, ())

    assert (lift.load_kg, lift.equal, lift.crew, lift.missing) == (None, (), None, (missing,))


def test_an_unweighed_athlete_is_not_known() -> None:
    assert shared_lift(HEAVY, (LoadPart("body mass", None),), BOARD, ()).missing == ("body mass",)
    assert direct_lift_kg(HEAVY, (LoadPart("body mass", None),), ON) == ()


def test_people_who_stated_a_limit_are_put_in_a_best_order() -> None:
    # Left side 30, 23, 15 kg, right side 25, 20, 23 kg: 1.264 of a limit, in the best order 1.082 (own computation,
    # HiGHS).
    people = [lifter(f"R-{n}", f"{limit} kg") for n, limit in enumerate((30, 25, 23, 20, 15, 23), start=1)]
    crew = shared_lift(HEAVY, WORN, BOARD, people).crew

    assert crew is not None
    assert crew.as_listed.least_largest_ratio == pytest.approx(1.264, abs=0.02)
    assert crew.best.least_largest_ratio == pytest.approx(1.082, abs=0.02)
    assert crew.best.is_ruled_out
    assert sorted(name for _, name in crew.best_order) == [person.name for person in people]


def test_three_stated_limits_are_too_few_to_compare() -> None:
    people = [lifter(f"R-{n}", "30 kg" if n < 4 else None) for n in range(1, 8)]

    assert shared_lift(HEAVY, WORN, BOARD, people).crew is None


def test_hands_without_a_device_carry_everything_between_them() -> None:
    # Lever rule between .06, .23, .47 and .72 of stature: 8.4, 29.3, 37.4 and 24.8 % (own computation on de Leva 1996).
    shares = dict(direct_lift_kg(HEAVY, (LoadPart("body mass", read_mass("100 kg")),), ON))

    assert sum(shares.values()) == pytest.approx(100)
    assert shares == pytest.approx({"head": 8.4, "chest": 29.3, "pelvis": 37.4, "legs": 24.8}, abs=0.1)


def test_a_log_roll_needs_mass_and_stature() -> None:
    assert roll_of(replace(HEAVY, stature=None), WORN, 155.7) is None
    assert roll_of(HEAVY, (LoadPart("body mass", None),), 155.7) is None


def test_a_log_roll_is_as_broad_as_measured() -> None:
    rolls = [
        roll_of(replace(HEAVY, padded_shoulder_breadth=breadth), WORN, 155.7)
        for breadth in (None, read_length("55 cm"), read_length("70 cm"))
    ]

    assert [roll.block_force_n for roll in rolls if roll] == pytest.approx([139 * 9.80665 / 2] * 3)
    moments = [roll.ellipse_moment_n_m for roll in rolls if roll]
    assert moments[1] < moments[0] < moments[2]
