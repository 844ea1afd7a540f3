"""Predicted breadths: intervals, what is not known, sparse and extrapolated, which survey table."""

import numpy as np
import pytest

from onthree.loads.body_size import predicted_breadth
from tests.printed import assert_agrees


def shoulder(mass_kg: float, stature_m: float, survey: str | None = "male") -> tuple[float, float]:
    predicted = predicted_breadth("shoulder", np.array([mass_kg]), np.array([stature_m]), [survey])
    return float(predicted.lower_m[0]), float(predicted.upper_m[0])


@pytest.mark.parametrize(
    ("mass_kg", "stature_m", "lower_cm", "middle_cm", "upper_cm"),
    [
        (100, 1.85, "50.6", "53.6", "56.7"),
        (115, 1.90, "53.0", "56.0", "59.3"),
        (130, 1.90, "55.4", "58.6", "62.0"),
        (145, 1.95, "57.3", "60.6", "64.2"),
    ],
)
def test_four_people_worked_apart(
    mass_kg: float, stature_m: float, lower_cm: str, middle_cm: str, upper_cm: str
) -> None:
    """exp(3.4241 + .36347 ln m - .21392 ln h) in cm, residual SD .0289, fitted and worked apart from this program."""
    predicted = predicted_breadth("shoulder", np.array([mass_kg]), np.array([stature_m]), ["male"])

    assert_agrees(100 * float(predicted.lower_m[0]), lower_cm)
    assert_agrees(100 * float(predicted.middle_m[0]), middle_cm)
    assert_agrees(100 * float(predicted.upper_m[0]), upper_cm)


def test_without_a_survey_table_the_interval_is_the_union_of_both() -> None:
    man, woman = shoulder(80, 1.75, "male"), shoulder(80, 1.75, "female")

    assert shoulder(80, 1.75, None) == (min(man[0], woman[0]), max(man[1], woman[1]))


@pytest.mark.parametrize(("mass_kg", "stature_m"), [(np.nan, 1.8), (90.0, np.nan), (np.nan, np.nan)])
def test_without_mass_or_stature_nothing_is_guessed(mass_kg: float, stature_m: float) -> None:
    assert np.isnan(shoulder(mass_kg, stature_m)).all()
    assert np.isnan(shoulder(mass_kg, stature_m, None)).all()


@pytest.mark.parametrize(
    ("survey", "mass_kg", "stature_m", "is_sparse", "is_extrapolated"),
    [
        ("male", 125.0, 1.9, False, False),
        ("male", 125.1, 1.9, True, False),
        ("male", 144.2, 1.9, True, False),
        ("male", 144.3, 1.9, True, True),
        ("male", 39.0, 1.6, False, True),
        ("male", 100.0, 2.05, False, True),
        ("female", 100.1, 1.7, True, False),
        ("female", 120.0, 1.7, True, True),
        (None, 120.0, 1.7, True, True),
        (None, 90.0, 1.95, False, True),
        (None, 90.0, 1.7, False, False),
    ],
)
def test_heavier_than_nearly_all_is_sparse_and_outside_the_survey_is_extrapolated(
    survey: str | None, mass_kg: float, stature_m: float, is_sparse: bool, is_extrapolated: bool
) -> None:
    predicted = predicted_breadth("hip", np.array([mass_kg]), np.array([stature_m]), [survey])

    assert (bool(predicted.is_sparse[0]), bool(predicted.is_extrapolated[0])) == (is_sparse, is_extrapolated)


def test_a_whole_roster_is_the_same_as_one_by_one() -> None:
    mass_kg, stature_m = np.array([60.0, 95.0, np.nan, 150.0]), np.array([1.6, 1.8, 1.9, 1.95])
    surveys = ["female", None, "male", "male"]
    together = predicted_breadth("forearm", mass_kg, stature_m, surveys)
    apart = [
        predicted_breadth("forearm", mass_kg[[row]], stature_m[[row]], [survey]) for row, survey in enumerate(surveys)
    ]

    np.testing.assert_array_equal(together.lower_m, np.concatenate([one.lower_m for one in apart]))
    np.testing.assert_array_equal(together.is_extrapolated, np.concatenate([one.is_extrapolated for one in apart]))


def test_nobody_gives_nothing() -> None:
    assert predicted_breadth("waist", np.array([]), np.array([]), []).lower_m.shape == (0,)


def test_a_higher_level_widens_the_interval() -> None:
    mass_kg, stature_m = np.array([90.0]), np.array([1.8])
    usual, wide = (predicted_breadth("hip", mass_kg, stature_m, ["male"], level) for level in (0.95, 0.99))

    assert wide.lower_m[0] < usual.lower_m[0] < usual.upper_m[0] < wide.upper_m[0]


def test_an_unknown_breadth_or_table_is_refused() -> None:
    with pytest.raises(KeyError, match="elbow"):
        predicted_breadth("elbow", np.array([90.0]), np.array([1.8]), ["male"])
    with pytest.raises(KeyError, match="child"):
        predicted_breadth("hip", np.array([90.0]), np.array([1.8]), ["child"])
