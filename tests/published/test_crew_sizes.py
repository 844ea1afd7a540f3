"""How many people each technique asks for, against the crews of the published trials and the course manuals."""

from math import exp, log, sqrt

import pytest

from onthree.loads.chain import LoadPart, Rating, judge
from onthree.techniques.library import bundled_library
from onthree.techniques.verdict import Verdict
from onthree.units import read_mass
from tests.printed import assert_agrees


def people(technique: str) -> tuple[int, int]:
    roles = bundled_library()[technique].role
    return sum(role.least for role in roles), sum(role.count for role in roles)


def lifters(technique: str) -> int:
    return sum(role.count for role in bundled_library()[technique].role if role.load_model == "direct_lift")


@pytest.mark.published("prasarn-2015", where="abstract: eight-person lift")
def test_the_eight_person_lift_takes_eight() -> None:
    assert people("eight_person_lift_long_board") == (8, 8)


@pytest.mark.published("six-plus-straddle", where="abstract: one at the head, three either side, one slides the board")
def test_the_six_plus_lift_takes_eight_six_of_whom_lift() -> None:
    assert people("six_plus_lift_long_board") == (8, 8)
    assert lifters("six_plus_lift_long_board") == 6


@pytest.mark.published("six-plus-straddle", where="abstract: one at the head, three straddling, one slides the board")
def test_the_straddle_lift_takes_five_three_of_whom_lift() -> None:
    assert people("straddle_lift_long_board") == (5, 5)
    assert lifters("straddle_lift_long_board") == 3


@pytest.mark.published("delrossi-2008", where="abstract: eight people in the study, by arm not in what was read")
def test_the_lift_and_slide_asks_for_all_who_took_part() -> None:
    assert people("lift_and_slide_long_board") == (8, 8)


@pytest.mark.published("peris-2002", where="abstract: four people take helmet and pads off, torso raised")
def test_equipment_comes_off_an_elevated_torso_with_four() -> None:
    assert people("equipment_removal_elevated_torso")[0] == 4


@pytest.mark.published("jacobson-2014", where="abstract: four athletic trainers take the equipment off")
def test_equipment_comes_off_a_flat_torso_with_four() -> None:
    assert people("equipment_removal_flat_torso") == (4, 4)


@pytest.mark.published("horodyski-2009", where="abstract: one assistant more for the elevated torso")
def test_an_elevated_torso_usually_takes_one_more_than_a_flat_one() -> None:
    assert people("equipment_removal_elevated_torso")[1] == people("equipment_removal_flat_torso")[1] + 1


@pytest.mark.published("swartz-2005", where="abstract: four rescuers for the log roll")
def test_a_supine_log_roll_can_be_done_by_four() -> None:
    assert people("log_roll_supine_long_board")[0] == 4


@pytest.mark.published("rugby-course", where="appendix: five people for a log roll")
def test_five_is_the_usual_number_for_a_log_roll() -> None:
    assert people("log_roll_supine_long_board")[1] == 5
    assert people("log_roll_push_long_board")[1] == 5


@pytest.mark.published("common-practice", where="common practice, no source: a roll needs at least four")
def test_a_prone_or_side_roll_needs_at_least_four() -> None:
    for technique in ("log_roll_push_long_board", "log_roll_pull_long_board", "log_roll_side_long_board"):
        assert people(technique)[0] == 4


@pytest.mark.published("common-practice", where="common practice, no source: two trained operators, more off the flat")
def test_a_cot_is_moved_by_two_trained_operators_and_by_more_on_a_slope_or_stairs() -> None:
    assert people("cot_over_flat")[0] == 2
    assert people("cot_over_slope")[0] == 4
    assert people("cot_over_stairs")[0] == 6


@pytest.mark.published(
    "common-practice", where="common practice, no source: 290 lb, 6 ft 3 in, against 350 lb and 500 lb"
)
def test_a_290_lb_athlete_with_equipment_is_within_both_usual_limits_and_a_330_lb_one_only_within_the_higher() -> None:
    def verdict(body: str, limit: str) -> Verdict:
        worn = (LoadPart("body", read_mass(body)), LoadPart("equipment", read_mass("25 lb")))
        return judge(worn, (Rating("device", "D", read_mass(limit)),)).verdict

    assert [verdict("290 lb", "350 lb"), verdict("290 lb", "500 lb")] == [Verdict.OK, Verdict.OK]
    assert [verdict("330 lb", "350 lb"), verdict("330 lb", "500 lb")] == [Verdict.NO, Verdict.OK]


@pytest.mark.published("gale-2008", where="40.09 +/- 15.1 s; log-normal median and 90 % point from mean and SD")
def test_face_mask_times_follow_from_the_published_mean_and_sd() -> None:
    task = bundled_library()["face_mask_off"].task[0]
    sigma = sqrt(log(1 + (15.1 / 40.09) ** 2))
    median_s = 40.09 / sqrt(1 + (15.1 / 40.09) ** 2)

    assert_agrees(median_s, str(task.usual_s))
    assert_agrees(median_s * exp(1.2815516 * sigma), str(task.slow_s))
