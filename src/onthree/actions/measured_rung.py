"""Which rung of the ladder a film of tags reached, and what would lift it or make its bands narrower."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from onthree.actions.measure import FilmResult
from onthree.rehearsals.ladder import Filmed, Rung, rung_of

WELL_SEEN_RATIO = 0.95
"""Own choice: a segment that is seen for less of the film could be seen better."""
FEW_TAGS = 2.0
"""Own choice: with fewer tags of a segment seen at a time its angles are several times less sure."""
WIDE_DEG = 2.0
"""Own choice: a band of a range that is wider could be narrower."""


def rung(result: FilmResult) -> Rung:
    """The rung a measured film reached; what would lift it to the next comes first, then what this film lacked."""
    seen = {int(tag) for tag in np.unique(result.read.sightings.tag)}
    counts = {
        segment: sum(tag.segment == segment and tag.id in seen for tag in result.read.layout.tags)
        for segment in result.pair
    }
    reached = rung_of(
        Filmed(
            films_count=len(result.paths),
            head_tags_count=counts[result.pair[0]],
            trunk_tags_count=counts[result.pair[1]],
            is_camera_calibrated=result.is_camera_calibrated,
        )
    )
    return replace(reached, lifts=(*reached.lifts, *_lacked(result)))


def _lacked(result: FilmResult) -> Iterator[str]:
    read = result.read
    for segment in result.pair:
        share, track = read.seen_ratio[segment], read.bodies[segment]
        if share < WELL_SEEN_RATIO:
            yield f"{segment} is known in {share:.0%} of the film: put tags where hands and backs do not cover them"
        if track.is_valid.any() and np.mean(track.sightings_count[track.is_valid]) < FEW_TAGS:
            yield f"fewer than {FEW_TAGS:g} tags of the {segment} are seen at a time: add some that face the camera"
    if any("do not stand still" in one.why_no_lag for one in result.phases):
        yield "hold still before each count, on a steady phone, so that the start lag can be told"
    is_untold = read.untold(*result.pair).axes
    if is_untold:
        yield "mark a nod and a turn of the head alone: without, or places of tags by hand, no angle each way is told"
    if (
        not is_untold
        and _is_wide(result)
        and any("axes" in one.widened_by("range_flexion_extension_deg") for one in result.phases)
    ):
        yield "mark a nod and a turn of the head alone: the axes of the segments make the bands wide"
    if "taken" in result.neutral_said:
        yield "mark the still stretch in neutral on the page of its films, or in a phases file"


def _is_wide(result: FilmResult) -> bool:
    return bool(max(float(np.nan_to_num(one.bands.high[0] - one.bands.low[0])) for one in result.phases) > WIDE_DEG)
