"""Which rung of the ladder a film of tags reached, and what would lift it."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from onthree.actions.measure import FilmResult

WELL_SEEN_RATIO = 0.95
FEW_TAGS = 2.0
"""Own choice: with fewer tags seen of a segment at a time its angles are several times less sure."""
WIDE_DEG = 2.0


@dataclass(frozen=True)
class Rung:
    """A rung in words, and what would make the next film better."""

    said: str
    lifts: tuple[str, ...]


def rung(result: FilmResult) -> Rung:
    """The rung a measured film reached: tags on both segments make the second, what is asked of the third is listed."""
    lifts = tuple(_lifts(result))
    phones = "two phones" if len(result.paths) == 2 else "one phone"
    if not lifts:
        return Rung(f"Third rung: tags, {phones}, both segments well seen", ())
    return Rung(f"Second rung: tags, {phones}; below is what would lift it", lifts)


def _lifts(result: FilmResult) -> Iterator[str]:
    read = result.read
    for segment in ("head", "trunk"):
        share, track = read.seen_ratio[segment], read.bodies[segment]
        if share < WELL_SEEN_RATIO:
            yield f"{segment} is known in {share:.0%} of the film: put tags where hands and backs do not cover them"
        if track.is_valid.any() and np.mean(track.sightings_count[track.is_valid]) < FEW_TAGS:
            yield f"fewer than {FEW_TAGS:g} tags of the {segment} are seen at a time: add some that face the camera"
    if any(one.why_no_lag for one in result.phases):
        yield "hold still before each count, on a steady phone, so that the start lag can be told"
    if any("axes" in one.widened_by("range_flexion_extension_deg") for one in result.phases) and _is_wide(result):
        yield "mark a nod and a turn of the head alone: the axes of the segments make the bands wide"
    if "taken" in result.neutral_said:
        yield "mark the still stretch in neutral in a phases file"
    if len(result.paths) == 1:
        yield "film with a second phone from the opposite side"


def _is_wide(result: FilmResult) -> bool:
    return bool(max(float(np.nan_to_num(one.bands.high[0] - one.bands.low[0])) for one in result.phases) > WIDE_DEG)
