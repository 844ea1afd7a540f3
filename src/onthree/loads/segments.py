"""Where the mass of a person lies who is on their back: segments by table, the whole by their sum."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from onthree.sources import table

SEXES = ("male", "female")


@dataclass(frozen=True)
class SegmentPlace:
    """A segment, both sides together: its share of body mass, and of stature from the top of the head to its centre."""

    name: str
    mass_ratio: float
    place_ratio: float


def supine_centre_ratio(sex: str) -> float:
    """Distance of the centre of mass from the soles, as a ratio to stature; arms at the sides, legs straight."""
    segments = supine_segments(sex)
    from_vertex_ratio = sum(segment.mass_ratio * segment.place_ratio for segment in segments)
    return 1 - from_vertex_ratio / sum(segment.mass_ratio for segment in segments)


@cache
def supine_segments(sex: str) -> tuple[SegmentPlace, ...]:
    """The segments of ``male`` or ``female``, laid end to end from the top of the head [ratio to stature].

    The arms start at the height of the middle of the shoulders, the legs at that of the hips; the feet point up, their
    centres half way between ankles and soles. Source: de Leva 1996, Table 4. Raises ValueError for another sex.
    """
    if sex not in SEXES:
        raise ValueError(f"{sex!r} given, male or female expected: the table has these two")
    rows = {(row["from"], row["to"]): row for row in table("de_leva_1996")}
    stature_m = next(float(row["stature"]) / 1000 for row in table("de_leva_1996_sample") if row["sex"] == sex)
    trunk = [rows[ends] for ends in (("VERT", "CERV"), ("CERV", "XYPH"), ("XYPH", "OMPH"), ("OMPH", "MIDH"))]
    arm = [rows[ends] for ends in (("SJC", "EJC"), ("EJC", "WJC"), ("WJC", "MET3"))]
    leg = [rows[ends] for ends in (("HJC", "KJC"), ("KJC", "LMAL"))]
    hips_m = sum(_length_m(row, sex) for row in trunk)
    shoulders_m = hips_m - _length_m(rows["MIDS", "MIDH"], sex)
    ankles_m = hips_m + sum(_length_m(row, sex) for row in leg)
    foot = rows["HEEL", "TTIP"]
    return (
        *_end_to_end(trunk, 0.0, stature_m, sex),
        *_end_to_end(arm, shoulders_m, stature_m, sex),
        *_end_to_end(leg, hips_m, stature_m, sex),
        SegmentPlace(foot["segment"], _mass_ratio(foot, sex), (ankles_m + stature_m) / 2 / stature_m),
    )


def _end_to_end(rows: list[Mapping[str, str]], start_m: float, stature_m: float, sex: str) -> tuple[SegmentPlace, ...]:
    places = []
    for row in rows:
        centre_m = start_m + float(row[f"{sex}_com"]) / 100 * _length_m(row, sex)
        places.append(SegmentPlace(row["segment"], _mass_ratio(row, sex), centre_m / stature_m))
        start_m += _length_m(row, sex)
    return tuple(places)


def _length_m(row: Mapping[str, str], sex: str) -> float:
    return float(row[f"{sex}_length"]) / 1000


def _mass_ratio(row: Mapping[str, str], sex: str) -> float:
    return int(row["count"]) * float(row[f"{sex}_mass"]) / 100
