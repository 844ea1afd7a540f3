"""The choices behind the measures, from the bundled table: how a number is worked out, never what a motion means."""

from dataclasses import dataclass
from functools import cache

from onthree.sources import table_as


@dataclass(frozen=True)
class Choices:
    """The rows of ``kinematics_choices`` by name and unit; noise is that of the still stretch."""

    gimbal_warning_deg: float
    longest_step_s: float
    start_seen_ratio: float
    start_least_deg: float
    start_least_m: float
    start_goes_on_s: float
    start_rest_s: float
    start_lasts_s: float
    start_searched_s: float
    first_turn_deg: float
    first_shift_m: float
    later_turn_deg: float
    later_shift_m: float
    passing_within_s: float
    passing_noise_ratio: float
    passing_between_ratio: float
    told_by_turn_deg: float
    rest_least_s: float
    rest_beyond_ratio: float
    rest_beyond_lasts_count: float
    rest_left_s: float
    movement_least_deg: float
    draws_count: float
    noise_sd_ratio: float
    draws_by_kind_count: float


@cache
def choices() -> Choices:
    """The choices of this version."""
    return table_as(Choices, "kinematics_choices")
