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


@pytest.mark.published("delrossi-2008", where="abstract: eight rescuers for the lift")
def test_the_eight_person_lift_takes_eight() -> None:
    assert people("eight_person_lift_long_board") == (8, 8)


@pytest.mark.published("swartz-2005", where="abstract: four rescuers for the log roll")
def test_a_supine_log_roll_can_be_done_by_four() -> None:
    assert people("log_roll_supine_long_board")[0] == 4


@pytest.mark.published("rugby-course", where="appendix: five people for a log roll")
def test_five_is_the_usual_number_for_a_log_roll() -> None:
    assert people("log_roll_supine_long_board")[1] == 5
    assert people("log_roll_push_long_board")[1] == 5


@pytest.mark.published("common-practice", where="common practice, no source: the push needs at least four")
def test_the_push_needs_at_least_four() -> None:
    assert people("log_roll_push_long_board")[0] == 4


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
