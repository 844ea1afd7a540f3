"""Writes data/tables/body_size_regressions.csv from the raw files of the body survey.

Run it where the open data are: ``ONTHREE_OPEN_DATA=<folder> .venv/bin/python scripts/fit_body_size.py``.
"""

import csv
import io
import os
from collections.abc import Iterator, Mapping
from pathlib import Path

import numpy as np

TABLE = Path(__file__).parents[1] / "src" / "onthree" / "data" / "tables" / "body_size_regressions.csv"
SURVEYS = {"male": "ANSUR_II_MALE_Public.csv", "female": "ANSUR_II_FEMALE_Public.csv"}
BREADTHS = {
    "shoulder": "bideltoidbreadth",
    "forearm": "forearmforearmbreadth",
    "trunk": "chestbreadth",
    "waist": "waistbreadth",
    "hip": "hipbreadth",
    "depth": "chestdepth",
}
HEADER = """\
# Breadths of adults from body mass and stature, by survey table; made by scripts/fit_body_size.py from the raw files.
# source: gordon-2014, read: raw public files, every row, nobody left out.
# Breadths without pads, standing or sitting upright; depth is that of the chest.
# Model: ln(breadth / m) = mean_ln_breadth + mass_slope (ln(mass / kg) - mean_ln_mass) + stature_slope (ln(stature / m)
#   - mean_ln_stature), least squares; residual_sd with n - 3 degrees of freedom, in ln.
# inv_mass, inv_both, inv_stature: inverse of the centred sums of squares and products, for the prediction interval.
# sparse_above_kg: the first whole 5 kg that fewer than 1 in 100 of the survey exceed; the others: the survey's range.
"""


def read_survey(survey: str) -> dict[str, np.ndarray]:
    """The columns a fit needs; mass in kg, lengths in m."""
    path = Path(os.environ["ONTHREE_OPEN_DATA"]) / "ansur2" / SURVEYS[survey]
    with path.open(encoding="latin-1", newline="") as file:
        rows = list(csv.DictReader(file))
    columns = {"mass": "weightkg", "stature": "stature", **BREADTHS}
    per_unit = {"mass": 10}  # printed in 0.1 kg; everything else in mm
    return {
        name: np.array([float(row[column]) for row in rows]) / per_unit.get(name, 1000)
        for name, column in columns.items()
    }


def fitted(survey: str) -> Iterator[Mapping[str, str]]:
    """One row of the table for each breadth."""
    columns = read_survey(survey)
    mass, stature = columns["mass"], columns["stature"]
    logs = np.column_stack([np.log(mass), np.log(stature)])
    means = logs.mean(axis=0)
    inverse = np.linalg.inv((logs - means).T @ (logs - means))
    for breadth, column in BREADTHS.items():
        ln_breadth = np.log(columns[breadth])
        slopes = inverse @ (logs - means).T @ ln_breadth
        residual = ln_breadth - ln_breadth.mean() - (logs - means) @ slopes
        numbers = {
            "mean_ln_breadth": ln_breadth.mean(),
            "mass_slope": slopes[0],
            "stature_slope": slopes[1],
            "residual_sd": np.sqrt(residual @ residual / (len(mass) - 3)),
            "r2": 1 - residual @ residual / np.sum((ln_breadth - ln_breadth.mean()) ** 2),
            "mean_ln_mass": means[0],
            "mean_ln_stature": means[1],
            "inv_mass": inverse[0, 0],
            "inv_both": inverse[0, 1],
            "inv_stature": inverse[1, 1],
        }
        yield {
            "survey": survey,
            "breadth": breadth,
            "n": str(len(mass)),
            **{name: f"{number:.7g}" for name, number in numbers.items()},
            "sparse_above_kg": f"{5 * np.ceil(np.quantile(mass, 0.99) / 5):.0f}",
            "smallest_kg": f"{mass.min():.1f}",
            "largest_kg": f"{mass.max():.1f}",
            "shortest_m": f"{stature.min():.3f}",
            "tallest_m": f"{stature.max():.3f}",
            "source": "gordon-2014",
            "where": f"{SURVEYS[survey]}, weightkg, stature, {column}",
        }


def table_text() -> str:
    """The whole table as it is written."""
    rows = [row for survey in SURVEYS for row in fitted(survey)]
    text = io.StringIO()
    writer = csv.DictWriter(text, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return HEADER + text.getvalue()


if __name__ == "__main__":
    TABLE.write_text(table_text(), encoding="utf-8")
    print(f"written: {TABLE.name}")
