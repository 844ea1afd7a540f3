"""The choices behind the measures, from the bundled table: how a number is worked out, never what a motion means."""

from dataclasses import dataclass
from functools import cache

from onthree.sources import table


@dataclass(frozen=True)
class Choices:
    """The rows of ``kinematics_choices`` by name and unit; noise is that of the still stretch."""

    gimbal_warning_deg: float
    longest_step_s: float
    start_seen_ratio: float
    start_least_deg: float
    start_least_m: float
    start_goes_on_s: float
    start_fitted_ratio: float
    start_fitted_share_ratio: float
    start_power_least_ratio: float
    start_power_most_ratio: float
    start_exponential_ratio: float
    start_alike_ratio: float
    start_powers_apart_ratio: float
    start_apart_ratio: float
    start_apart_lasts_ratio: float
    start_rest_s: float
    start_searched_s: float
    start_lasts_s: float
    first_turn_deg: float
    first_shift_m: float
    first_turn_within_s: float
    movement_least_deg: float
    draws_count: float


@cache
def choices() -> Choices:
    """The choices of this version."""
    return Choices(**{f"{row['name']}_{row['unit']}": float(row["value"]) for row in table("kinematics_choices")})
