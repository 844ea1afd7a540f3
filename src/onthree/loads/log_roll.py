"""The force of a log roll by two simple models that bracket it: a rolling ellipse, and a block tipped over its edge.

At rest, without friction, pads or a late start; forces measured on people are not in it.
"""

from dataclasses import dataclass

from onthree.loads.limits import PeopleNeeded, people_needed


@dataclass(frozen=True)
class LogRoll:
    """Force of the rollers together under both models [N], the turning moment of the ellipse [N m], people needed."""

    ellipse_moment_n_m: float
    ellipse_force_n: float
    block_force_n: float
    limit_n: float

    @property
    def rollers_by_ellipse(self) -> PeopleNeeded:
        """People who roll, the head holder not counted, if the body rolls like an ellipse."""
        return people_needed(self.ellipse_force_n, self.limit_n)

    @property
    def rollers_by_block(self) -> PeopleNeeded:
        """People who roll, the head holder not counted, if the back is flat and its far edge is lifted first."""
        return people_needed(self.block_force_n, self.limit_n)

    @property
    def sentence(self) -> str:
        """Both models, ratio beside number; neither is a proof."""
        return (
            f"Rollers at {self.limit_n:.1f} N each, by two simple models: {self.rollers_by_ellipse} if the body rolls "
            f"like an ellipse, {self.rollers_by_block} if its far edge is lifted first; and one more at the head. "
            "Friction, pads and a late start are not in it; local protocol and rehearsal decide."
        )


def log_roll(weight_n: float, half_breadth_m: float, half_depth_m: float, limit_n: float) -> LogRoll:
    """A supine athlete of this weight with all that is worn, as broad and deep as the trunk with what is worn.

    Raises ValueError unless the trunk is at least as broad as deep.
    """
    if not 0 < half_depth_m <= half_breadth_m:
        raise ValueError(f"half breadth {half_breadth_m} m, half depth {half_depth_m} m given: breadth comes first")
    moment_n_m = ellipse_peak_moment_n_m(weight_n, half_breadth_m, half_depth_m)
    return LogRoll(moment_n_m, moment_n_m / (half_breadth_m + half_depth_m), weight_n / 2, limit_n)


def ellipse_peak_moment_n_m(weight_n: float, half_breadth_m: float, half_depth_m: float) -> float:
    """The largest moment of rolling an ellipse slowly on level ground: weight (a - b).

    Its centre rises from b to a as sqrt(a^2 sin^2 + b^2 cos^2); the slope of that is largest at tan^2 = b / a.
    """
    return weight_n * (half_breadth_m - half_depth_m)
