"""The one container of what was recorded: how head, trunk and device are turned at every moment, and how sure that is.

Every reader of recordings, of film, sensors or motion capture, ends in a ``SegmentMotion``; every measure starts there.
Segment axes: X anterior, Y cranial, Z right.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

Frame = Literal["camera", "gravity", "laboratory"]

NEGLIGIBLE = 1e-9
"""In radians, and as a share of a variance: less than this is rounding."""


@dataclass(frozen=True)
class Clock:
    """The recording's clock on that of the run: time of the run = offset + time x (1 + rate in millionths).

    ``offset_sd_s`` is None where nobody knows how well the two agree.
    """

    offset_s: float = 0.0
    offset_sd_s: float | None = None
    rate_ppm: float = 0.0


@dataclass(frozen=True, eq=False, kw_only=True)
class SegmentMotion:
    """Rotations of n moments and s segments in one frame, whatever they were recorded with.

    ``time_s`` (n) rises strictly; ``frame_from_segment`` holds n rotations for each segment, the identity where
    ``is_valid`` (n, s) is False; ``position_m`` (n, s, 3) in the same frame, NaN where it is not valid, or None.
    ``measured_as`` says what was measured, such as helmet on pads; ``neutral_s`` is the marked still stretch in
    neutral, (start, end), or None. Raises ValueError with every problem at once.
    """

    time_s: FloatArray
    segments: tuple[str, ...]
    frame: Frame
    frame_from_segment: Mapping[str, Rotation]
    is_valid: BoolArray
    position_m: FloatArray | None
    measured_as: str
    neutral_s: tuple[float, float] | None
    source_sha256: str
    clock: Clock = field(default_factory=Clock)
    flags: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Refuse what no measure could be taken from."""
        if problems := [*_problems_of_time(self), *_problems_of_segments(self)]:
            raise ValueError("; ".join(problems))

    def column(self, segment: str) -> int:
        """The place of a segment in ``is_valid`` and ``position_m``. Raises KeyError with the segments there are."""
        if segment not in self.segments:
            raise KeyError(f"segment {segment!r} given, one of {', '.join(self.segments)} expected")
        return self.segments.index(segment)

    def is_seen(self, segment: str) -> BoolArray:
        """Whether a segment is known at each moment (n)."""
        seen: BoolArray = self.is_valid[:, self.column(segment)]
        return seen


@dataclass(frozen=True, eq=False, kw_only=True)
class RelativeUncertainty:
    """How wrong a segment's rotation on another may be: noise, and errors that all moments share.

    An error is a small rotation vector in the axes of the reference: measured = exp(error) x true, before the neutral
    is taken off. ``noise_cov_rad2`` (n, 3, 3) is of noise whose correlation falls to 1/e in ``noise_correlation_s``;
    each of the k rows of ``shared_rad`` (k, n, 3) is the error that one standard deviation of one named cause makes
    (focal, layout, heading, tilt, clock, axes). ``is_smoothed`` says what the noise is: of a raw track the error of
    measuring, of a smoothed one what is still unknown about the truth, which is itself smooth.

    The same of the place of the moving origin, in the axes of the reference, where it is known: ``position_cov_m2``
    (n, 3, 3) lasts for ``position_correlation_s``, ``position_shared_m`` (k, n, 3) is what the same causes do to it.
    Raises ValueError with every problem at once.
    """

    reference: str
    moving: str
    noise_cov_rad2: FloatArray
    noise_correlation_s: float
    shared_rad: FloatArray
    shared_names: tuple[str, ...]
    is_smoothed: bool
    position_cov_m2: FloatArray | None = None
    position_correlation_s: float = 0.0
    position_shared_m: FloatArray | None = None

    def __post_init__(self) -> None:
        """Refuse what no draw could be made from."""
        if problems := list(_problems_of_uncertainty(self)):
            raise ValueError("; ".join(problems))


def _problems_of_time(motion: SegmentMotion) -> Iterator[str]:
    time_s = motion.time_s
    if time_s.ndim != 1 or len(time_s) < 2:
        yield f"time_s of shape {time_s.shape} given, (n) with at least 2 moments expected"
    elif not np.isfinite(time_s).all() or not (np.diff(time_s) > 0).all():
        yield "time_s does not rise strictly: give each frame its own presentation time, once"
    if motion.frame not in get_args(Frame):
        yield f"frame {motion.frame!r} given, one of {', '.join(get_args(Frame))} expected"
    if motion.neutral_s is not None and not motion.neutral_s[0] < motion.neutral_s[1]:
        yield f"neutral_s {motion.neutral_s} given, (start, end) with start before end expected"
    if not motion.measured_as:
        yield "measured_as is empty: say what was measured, such as helmet on pads"


def _problems_of_segments(motion: SegmentMotion) -> Iterator[str]:
    shape = (len(motion.time_s), len(motion.segments))
    if len(set(motion.segments)) != len(motion.segments) or set(motion.segments) != set(motion.frame_from_segment):
        given = f"segments {motion.segments} and rotations of {tuple(motion.frame_from_segment)}"
        yield f"{given} given, the same ones expected, each once"
        return
    if motion.is_valid.shape != shape or motion.is_valid.dtype != np.bool_:
        yield f"is_valid of shape {motion.is_valid.shape} given, truth values of shape {shape} expected"
        return
    for column, segment in enumerate(motion.segments):
        rotation = motion.frame_from_segment[segment]
        if rotation.single or len(rotation) != shape[0]:
            yield f"{segment}: one rotation for each of the {shape[0]} moments expected"
        elif not np.isfinite(rotation.as_quat()).all():
            yield f"{segment}: a rotation that is not a number; mark it not valid and give the identity"
        elif (np.asarray(rotation.magnitude())[~motion.is_valid[:, column]] > NEGLIGIBLE).any():
            yield f"{segment}: a rotation other than the identity where it is not valid; a gap is never filled in"
    if motion.position_m is not None:
        if motion.position_m.shape != (*shape, 3):
            yield f"position_m of shape {motion.position_m.shape} given, {(*shape, 3)} expected"
        elif not np.isfinite(motion.position_m[motion.is_valid]).all():
            yield "position_m is not a number where the segment is valid"


def _problems_of_uncertainty(uncertainty: RelativeUncertainty) -> Iterator[str]:
    if uncertainty.reference == uncertainty.moving:
        yield f"reference and moving are both {uncertainty.moving!r}: two segments expected"
    names, count = uncertainty.shared_names, len(uncertainty.noise_cov_rad2)
    yield from _problems_of_noise("noise_cov_rad2", uncertainty.noise_cov_rad2, count)
    yield from _problems_of_shared("shared_rad", uncertainty.shared_rad, len(names), count)
    if len(set(names)) != len(names):
        yield "shared_names has a name twice: give each shared error one row"
    if not uncertainty.noise_correlation_s >= 0:
        yield f"noise_correlation_s {uncertainty.noise_correlation_s} given, at least 0 s expected"
    if not uncertainty.position_correlation_s >= 0:
        yield f"position_correlation_s {uncertainty.position_correlation_s} given, at least 0 s expected"
    if (uncertainty.position_cov_m2 is None) != (uncertainty.position_shared_m is None):
        yield "position_cov_m2 and position_shared_m belong together: give both or none"
    if uncertainty.position_cov_m2 is not None and uncertainty.position_shared_m is not None:
        yield from _problems_of_noise("position_cov_m2", uncertainty.position_cov_m2, count)
        yield from _problems_of_shared("position_shared_m", uncertainty.position_shared_m, len(names), count)


def _problems_of_noise(name: str, covariance: FloatArray, count: int) -> Iterator[str]:
    if covariance.shape != (count, 3, 3):
        yield f"{name} of shape {covariance.shape} given, (n, 3, 3) expected, here with n = {count}"
    elif not np.isfinite(covariance).all():
        yield f"{name} is not a number somewhere: where a segment is not valid, give zero"
    elif not np.allclose(covariance, covariance.transpose(0, 2, 1), atol=0):
        yield f"{name} is not symmetric"
    elif count and np.linalg.eigvalsh(covariance).min() < -NEGLIGIBLE * np.abs(covariance).max():
        yield f"{name} has a negative variance in some direction"


def _problems_of_shared(name: str, shared: FloatArray, names_count: int, count: int) -> Iterator[str]:
    expected = (names_count, count, 3)
    if shared.shape != expected:
        yield f"{name} of shape {shared.shape} given, {expected} expected: one row for each of the shared names"
    elif not np.isfinite(shared).all():
        yield f"{name} is not a number somewhere"
