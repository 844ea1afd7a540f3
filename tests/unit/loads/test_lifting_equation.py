"""What the lifting equation refuses."""

import pytest

from onthree.loads.lifting_equation import Grip, RepeatedLift, multipliers, recommended_limit_kg

LOW, HIGH = Grip(0.3, 0.2), Grip(0.3, 0.9)


@pytest.mark.parametrize(
    ("lift", "units", "complaint"),
    [
        (RepeatedLift(LOW, HIGH, "firm"), "metric", "good, fair or poor"),
        (RepeatedLift(LOW, HIGH, "good", lasts_min=481), "metric", "at most 480"),
        (RepeatedLift(LOW, HIGH, "good"), "feet", "metric or us"),
    ],
)
def test_what_the_equation_does_not_know_is_refused(lift: RepeatedLift, units: str, complaint: str) -> None:
    with pytest.raises(ValueError, match=complaint):
        multipliers(lift, lift.origin, units)


def test_the_lower_of_both_ends_counts() -> None:
    lift = RepeatedLift(LOW, HIGH, "fair")
    both_kg = [multipliers(lift, grip).limit_kg for grip in (LOW, HIGH)]

    assert recommended_limit_kg(lift) == min(both_kg) == both_kg[0]
