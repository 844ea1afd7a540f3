"""The correlation of a short series is estimated too low, and by how much."""

import numpy as np
import pytest

from onthree.kinematics.start_lag import in_noise_units, lag_one_ratio


@pytest.mark.published("nicholls-pope-1988", where="bias of a first-order coefficient, its main theorem, from memory")
@pytest.mark.parametrize("true_correlation", [0.3, 0.6])
def test_the_correlation_of_a_short_still_stretch_is_right_on_average(true_correlation: float) -> None:
    chance = np.random.default_rng(1)
    noise = chance.standard_normal((40, 1500, 3))
    for moment in range(1, 40):
        fresh = np.sqrt(1 - true_correlation**2) * noise[moment]
        noise[moment] = true_correlation * noise[moment - 1] + fresh
    is_still = np.ones(40, dtype=bool)
    found = [lag_one_ratio(in_noise_units(noise[:, run], is_still)) for run in range(1500)]

    assert np.mean(found) == pytest.approx(true_correlation, abs=0.02)
