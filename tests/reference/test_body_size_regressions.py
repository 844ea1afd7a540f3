"""The bundled regressions against the raw files of the body survey they were fitted on, by another way of fitting.

Gordon et al. 2014 (gordon-2014), raw public files: lengths in mm, weightkg in 0.1 kg.
"""

import numpy as np
import pytest

from onthree.loads.body_size import predicted_breadth, regression
from onthree.sources import table
from scripts.fit_body_size import BREADTHS, SURVEYS, TABLE, read_survey, table_text
from tests.printed import assert_agrees

pytestmark = pytest.mark.open_data
Z = 1.959963985  # 97.5 % point of the normal distribution
CASES = [(survey, breadth) for survey in SURVEYS for breadth in BREADTHS]


def test_the_table_is_what_the_script_writes() -> None:
    assert TABLE.read_text(encoding="utf-8") == table_text()


@pytest.mark.parametrize(("survey", "breadth"), CASES)
def test_coefficients_spread_and_r2_come_out_again(survey: str, breadth: str) -> None:
    """Least squares through the QR of the plain design matrix; the table was fitted about the means."""
    columns = read_survey(survey)
    design = np.column_stack([np.ones_like(columns["mass"]), np.log(columns["mass"]), np.log(columns["stature"])])
    ln_breadth = np.log(columns[breadth])
    q, r = np.linalg.qr(design)
    coefficients = np.linalg.solve(r, q.T @ ln_breadth)
    residual = ln_breadth - design @ coefficients
    row = next(one for one in table("body_size_regressions") if (one["survey"], one["breadth"]) == (survey, breadth))
    intercept = float(row["mean_ln_breadth"]) - np.dot(
        [float(row["mass_slope"]), float(row["stature_slope"])],
        [float(row["mean_ln_mass"]), float(row["mean_ln_stature"])],
    )

    assert row["n"] == str(len(residual))
    assert_agrees(intercept, f"{coefficients[0]:.5f}")
    assert_agrees(float(row["mass_slope"]), f"{coefficients[1]:.5f}")
    assert_agrees(float(row["stature_slope"]), f"{coefficients[2]:.5f}")
    assert_agrees(float(row["residual_sd"]), f"{np.sqrt(residual @ residual / (len(residual) - 3)):.6f}")
    assert_agrees(float(row["r2"]), f"{1 - residual.var() / ln_breadth.var():.5f}")


@pytest.mark.parametrize(("survey", "breadth"), CASES)
def test_the_interval_is_that_of_the_full_covariance(survey: str, breadth: str) -> None:
    """x' (X'X)^-1 x of the plain design matrix, at people far from the means."""
    columns = read_survey(survey)
    design = np.column_stack([np.ones_like(columns["mass"]), np.log(columns["mass"]), np.log(columns["stature"])])
    mass_kg, stature_m = np.array([45.0, 75.0, 140.0]), np.array([1.95, 1.70, 1.60])
    asked = np.column_stack([np.ones(3), np.log(mass_kg), np.log(stature_m)])
    leverage = np.einsum("ni,ij,nj->n", asked, np.linalg.inv(design.T @ design), asked)
    predicted = predicted_breadth(breadth, mass_kg, stature_m, [survey] * 3)
    half = np.log(predicted.upper_m / predicted.lower_m) / 2
    freedom = len(design) - 3
    t_large_sample = Z + (Z**3 + Z) / (4 * freedom)  # first terms for many degrees of freedom (textbook, from memory)

    assert half == pytest.approx(
        t_large_sample * regression(survey, breadth).residual_sd_ratio * np.sqrt(1 + leverage), rel=1e-5
    )


@pytest.mark.parametrize(("survey", "breadth"), CASES)
def test_the_interval_holds_its_share_of_people_in_every_band_of_mass(survey: str, breadth: str) -> None:
    is_inside, mass_kg = inside(survey, breadth)
    bands_kg = [(0, 70), (70, 90), (90, 110), (110, 120), (120, 150)]
    shares = [is_inside[(low <= mass_kg) & (mass_kg < high)] for low, high in bands_kg]

    assert 0.94 <= is_inside.mean() <= 0.96
    assert all(0.87 <= share.mean() <= 1 for share in shares if len(share) >= 50)


@pytest.mark.parametrize(
    ("survey", "breadth", "low_kg", "high_kg", "people", "share"),
    [
        ("male", "shoulder", 110, 120, 150, "0.91"),
        ("male", "shoulder", 120, 150, 71, "0.96"),
        ("male", "hip", 120, 150, 71, "0.89"),
        ("female", "trunk", 90, 110, 65, "0.88"),
    ],
)
def test_shares_the_page_names(
    survey: str, breadth: str, low_kg: float, high_kg: float, people: int, share: str
) -> None:
    is_inside, mass_kg = inside(survey, breadth)
    band = is_inside[(low_kg <= mass_kg) & (mass_kg < high_kg)]

    assert len(band) == people
    assert_agrees(band.mean(), share)


def inside(survey: str, breadth: str) -> tuple[np.ndarray, np.ndarray]:
    """For everyone of the survey: whether the own 95 % interval holds the own breadth; and the mass [kg]."""
    columns = read_survey(survey)
    predicted = predicted_breadth(breadth, columns["mass"], columns["stature"], [survey] * len(columns["mass"]))
    return (predicted.lower_m <= columns[breadth]) & (columns[breadth] <= predicted.upper_m), columns["mass"]


@pytest.mark.parametrize(
    ("survey", "column", "mean", "sd", "quantiles"),
    [
        ("male", "stature", "1.7562", "0.0686", ("1.602", "1.648", "1.755", "1.870", "1.927")),
        ("male", "mass", "85.52", "14.22", ("57.8", "64.4", "84.6", "110.7", "124.2")),
        ("male", "shoulder", "0.5104", "0.0325", ("0.439", "0.459", "0.509", "0.567", "0.593")),
        ("male", "forearm", "0.5799", "0.0509", ("0.471", "0.497", "0.579", "0.667", "0.700")),
        ("male", "trunk", "0.2894", "0.0183", ("0.250", "0.261", "0.289", "0.320", "0.335")),
        ("male", "hip", "0.3457", "0.0242", ("0.295", "0.308", "0.344", "0.387", "0.408")),
        ("female", "stature", "1.6285", "0.0642", ()),
        ("female", "mass", "67.76", "10.98", ()),
        ("female", "shoulder", "0.4503", "0.0287", ("0.388", "0.406", "0.450", "0.499", "0.522")),
        ("female", "forearm", "0.4948", "0.0410", ()),
        ("female", "hip", "0.3538", "0.0267", ()),
    ],
)
def test_the_survey_is_read_in_the_right_columns_and_units(
    survey: str, column: str, mean: str, sd: str, quantiles: tuple[str, ...]
) -> None:
    """Means, spreads and 1, 5, 50, 95, 99 % points, noted when the files were first read."""
    values = read_survey(survey)[column]

    assert_agrees(values.mean(), mean)
    assert_agrees(values.std(ddof=1), sd)
    for printed, computed in zip(quantiles, np.quantile(values, [0.01, 0.05, 0.5, 0.95, 0.99]), strict=False):
        assert_agrees(computed, printed, slack_digits=0.2)  # quantiles between two people differ by convention


@pytest.mark.parametrize(
    ("survey", "breadth", "width_m", "percent"),
    [
        ("male", "shoulder", 0.41, "99.9"),
        ("female", "shoulder", 0.41, "92.6"),
        ("male", "forearm", 0.43, "99.95"),
        ("female", "forearm", 0.43, "95.7"),
        ("male", "hip", 0.41, "0.9"),
    ],
)
def test_shares_of_people_wider_than_usual_devices(survey: str, breadth: str, width_m: float, percent: str) -> None:
    """What the page on fit says about devices that are narrower than nearly everyone."""
    assert_agrees(100 * float((read_survey(survey)[breadth] > width_m).mean()), percent)
