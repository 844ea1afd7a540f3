"""Choices about stretches of a recording, from the bundled table: what counts as still, how a movement is cut up."""

from dataclasses import dataclass
from functools import cache

from onthree.sources import table_as


@dataclass(frozen=True)
class StretchChoices:
    """The rows of ``stretch_choices`` by name and unit."""

    still_most_turned_deg: float
    still_least_s: float
    still_left_off_s: float
    still_near_s: float
    movement_parts_count: float


@cache
def stretch_choices() -> StretchChoices:
    """The choices of this version."""
    return table_as(StretchChoices, "stretch_choices")
