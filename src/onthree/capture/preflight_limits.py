"""What a film must show before a run is worth it, by the bundled table: limits of measuring, never of a motion."""

from dataclasses import dataclass
from functools import cache

from onthree.sources import table


@dataclass(frozen=True)
class Limits:
    """What a film must show; see data/tables/preflight_limits.csv."""

    looked_at_s: float
    seen_least_ratio: float
    side_least_px: float
    smear_most_ratio: float
    speed_asked_m_s: float
    rate_least_hz: float
    gap_most_s: float
    contrast_least_count: float
    clipped_most_ratio: float
    white_full_count: float
    flicker_most_ratio: float
    shift_most_px: float
    still_share_ratio: float
    camera_off_ratio: float
    focal_told_ratio: float
    focal_sure_ratio: float
    blur_low_ratio: float
    smear_fitted_most_px: float
    sides_least_count: float
    speed_least_px_s: float
    points_least_count: float


@cache
def preflight_limits() -> Limits:
    """The limits of this version."""
    return Limits(**{row["name"]: float(row["value"]) for row in table("preflight_limits")})
