"""Three numbers for a crew and what they mean: over 1 it cannot, up to 1 is no proof, not known is neither."""

import numpy as np
import pytest

from onthree.loads.crew_share import crew_share
from onthree.loads.handholds import hold_places_m

G = 9.80665
HOLDS_M = hold_places_m(0.25, 0.6, 3, 0.44)
COM_M = (0.864, 0)


def test_more_than_a_limit_at_best_rules_the_crew_out() -> None:
    share = crew_share(HOLDS_M, [23 * G] * 6, 147 * G, COM_M)

    # Worked by hand: t = W (x - 0.25) / 3.6; equal arms share by pairs 23.6, 24.5, 25.4 kg.
    assert share.least_largest_ratio == pytest.approx(147 * 0.614 / 3.6 / 23)
    assert share.equal_stiffness_ratio == pytest.approx((147 / 6 + 147 * 0.014 / 4 / 0.6) / 23)
    assert share.is_ruled_out is True
    assert share.sentence.startswith("This crew cannot: however they share, the most loaded carries 1.10 times")


def test_within_every_limit_at_best_is_no_proof() -> None:
    share = crew_share(HOLDS_M, [30 * G, 23 * G, 30 * G, 25 * G, 40 * G, 40 * G], 100 * G, COM_M)

    assert share.is_ruled_out is False
    assert "which is no proof" in share.sentence
    assert share.least_largest_ratio < share.equal_stiffness_ratio
    assert share.least_largest_ratio < share.after_one_lets_go_ratio


def test_exactly_the_limit_is_within_it() -> None:
    assert crew_share([(0, 0), (1, 0)], [500, 500], 1000, (0.5, 0)).is_ruled_out is False


def test_whose_loss_is_worst() -> None:
    # The load lies near the two at the head; without one of them it turns over the line from the other to the feet.
    holds_m = [(0.2, -0.2), (0.2, 0.2), (1.6, -0.2), (1.6, 0.0), (1.6, 0.2)]
    share = crew_share(holds_m, [300, 320, 300, 300, 300], 900, (0.5, 0.01))

    assert share.worst_to_lose in (0, 1)
    assert np.isinf(share.after_one_lets_go_ratio)
    assert "without the one missed most it tips" in share.sentence


def test_where_everybody_is_missed_alike_nobody_is_named() -> None:
    assert crew_share([(0, 0)] * 3, [300] * 3, 900, (0, 0)).worst_to_lose is None


def test_outside_the_holds_nothing_helps() -> None:
    share = crew_share(HOLDS_M, [1e6] * 6, 147 * G, (0.2, 0))

    assert share.is_ruled_out is True
    assert share.sentence == "This crew cannot: the centre of mass lies outside the holds that are held."


@pytest.mark.parametrize(("limit_n", "x_m"), [(np.nan, 0.864), (225.0, np.nan)])
def test_what_is_not_known_is_no_pass(limit_n: float, x_m: float) -> None:
    share = crew_share(HOLDS_M, [limit_n, *[1e6] * 5], 147 * G, (x_m, 0))

    assert share.is_ruled_out is None
    assert share.worst_to_lose is None
    assert share.sentence == "Sharing not known: a limit, the load or its place is missing."


def test_a_share_is_rounded_up() -> None:
    # 500.1 N of 500 N is 1.0002 of the limit: shown as 1.01, never as 1.00.
    assert "carries 1.01 times" in crew_share([(0, 0), (1, 0)], [500, 500], 1000.2, (0.5, 0)).sentence
