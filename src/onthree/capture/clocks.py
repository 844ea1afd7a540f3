"""How the clocks of two films of one run agree, told from the motion that both show.

A segment turns in the camera of the first film as R1(t), in that of the second as R2(t). Where neither camera moves,
R1(offset + t (1 + rate)) = C R2(t) X for every t, with C the turn between the cameras and X the turn between the axes
that each film gave the segment. How fast a segment turns needs neither C nor X: that gives a first offset, by
cross-correlation. Then offset, rate, C and X are those that make the differences of the two films likeliest, with
errors that go along from frame to frame.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.signal import find_peaks
from scipy.spatial.transform import Rotation, RotationSpline

from onthree.kinematics.choices import choices
from onthree.kinematics.segment_motion import Clock
from onthree.sources import table_as

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

COARSE_S = 0.02
MOST_CANDIDATES = 6
SAME_OFFSET_S = 0.05
CLEARLY_WORSE = 4.0
"""Every other offset must fit this many times worse, in mean square."""
ROUNDS = 12
SLOPE_S = 0.004
MOST_CORRELATED_RATIO = 0.98
OUTLIER = 4.0
LOOSE_RAD = 10.0
"""What is believed of the turns beforehand: nothing; they stay put where the motion says nothing either."""


class ClockError(ValueError):
    """Two films whose clocks cannot be laid upon each other; says why, and what to do."""


@dataclass(frozen=True)
class ClockBeliefs:
    """The rows of ``clock_beliefs`` by name and unit."""

    rate_sd_ppm: float
    least_overlap_s: float
    most_offset_sd_s: float
    most_misfit_deg: float
    most_unsteady_deg: float
    sound_to_picture_sd_s: float
    sound_path_sd_s: float
    picture_sd_s: float


@cache
def clock_beliefs() -> ClockBeliefs:
    """What is believed of the clocks of phones."""
    return table_as(ClockBeliefs, "clock_beliefs")


@dataclass(frozen=True, eq=False)
class Track:
    """One segment as one film saw it: m moments on the film's own clock, rotations as measured and smoothed.

    ``covariance_rad2`` and ``smooth_covariance_rad2`` (m, 3, 3): of the errors, as rotation vectors in fixed axes.
    """

    time_s: FloatArray
    measured: Rotation
    covariance_rad2: FloatArray
    smooth: Rotation
    smooth_covariance_rad2: FloatArray


@dataclass(frozen=True, eq=False)
class Agreement:
    """How two films agree: the second's clock on the first's, and the turns that lay one upon the other.

    ``covariance`` (2, 2) of offset [s] and rate [1], ``turns_covariance`` (3 + 3 s, 3 + 3 s) of the turns one
    after the other, as rotation vectors in the first camera's axes and in those of the segments; ``turn`` turns axes of
    the second camera into those of the first, ``segment_turns`` the axes that the first film gave a segment into those
    of the second; ``misfit_rad`` is the root-mean-square difference, ``unsteady_rad`` the largest mean of a second,
    ``overlap_s`` on the first film's clock.
    """

    clock: Clock
    covariance: FloatArray
    turns_covariance: FloatArray
    turn: Rotation
    segment_turns: Mapping[str, Rotation]
    misfit_rad: float
    unsteady_rad: float
    overlap_s: tuple[float, float]

    def sd_s(self, time_s: FloatArray) -> FloatArray:
        """How well the second film's moments (n) are known on the first film's clock."""
        by = np.stack([np.ones_like(time_s), time_s], axis=-1)
        sd: FloatArray = np.sqrt(np.einsum("ni,ij,nj->n", by, self.covariance, by))
        return sd


def agreement(first: Mapping[str, Track], second: Mapping[str, Track], given: Clock | None = None) -> Agreement:
    """How two films agree, from the segments that both show; ``given`` is a clock known otherwise, with its spread.

    Raises ClockError where it cannot be told.
    """
    common = [name for name in first if name in second and min(len(first[name].time_s), len(second[name].time_s)) > 3]
    if not common:
        raise ClockError("no segment is seen in both films: both must show the head or the trunk while it moves")
    curves = {name: (_Curve(first[name]), _Curve(second[name])) for name in common}
    starts_s = [given.offset_s] if given else _coarse_offsets_s(list(curves.values()))
    tracks = [second[name] for name in common]
    tried = [_Fit.best([curves[name][0] for name in common], tracks, start_s, given) for start_s in starts_s]
    fits = sorted((fit for fit in tried if fit is not None), key=lambda fit: fit.mean_square)
    if not fits:
        raise ClockError(f"the films show no motion together for {clock_beliefs().least_overlap_s:g} s: {_DO}")
    best = fits[0]
    _refuse_unclear(best, fits[1:], given)
    return best.said(common)


_DO = "film the same run with both, start both before it and stop both after it, or give a flash that both see"


def _refuse_unclear(best: "_Fit", others: "list[_Fit]", given: Clock | None) -> None:
    beliefs = clock_beliefs()
    if np.degrees(best.misfit_rad) > beliefs.most_misfit_deg:
        found = f"at best their motions differ by {np.degrees(best.misfit_rad):.1f} degrees"
        where = "at any offset" if given is None else f"at an offset of {given.offset_s:.3f} s"
        raise ClockError(f"the films do not show the same motion {where}, {found}: {_DO}")
    if given is None and best.sd_s > beliefs.most_offset_sd_s:
        raise ClockError(f"the offset of the clocks cannot be told: too little motion that both films show; {_DO}")
    for other in others:
        is_other = abs(other.offset_s - best.offset_s) > SAME_OFFSET_S
        if is_other and other.mean_square < CLEARLY_WORSE * best.mean_square:
            offsets = f"{best.offset_s:.2f} s or {other.offset_s:.2f} s"
            raise ClockError(f"the offset of the clocks cannot be told: it may be {offsets}; {_DO}")


class _Curve:
    """A smoothed rotation between its moments; nothing is said across gaps."""

    def __init__(self, track: Track) -> None:
        self.time_s = track.time_s
        self._spline = RotationSpline(track.time_s, track.smooth)
        self._covariance = track.smooth_covariance_rad2

    def at(self, time_s: FloatArray) -> Rotation:
        return self._spline(time_s)

    def is_known(self, time_s: FloatArray) -> BoolArray:
        """Whether moments lie between two of the film that are no further apart than a gap, and not at its ends."""
        after = np.searchsorted(self.time_s, time_s)
        inside = (after > 0) & (after < len(self.time_s))
        after = np.clip(after, 1, len(self.time_s) - 1)
        known: BoolArray = inside & (self.time_s[after] - self.time_s[after - 1] <= choices().longest_step_s)
        known &= (time_s > self.time_s[0] + SLOPE_S) & (time_s < self.time_s[-1] - SLOPE_S)
        return known

    def covariance_rad2(self, time_s: FloatArray) -> FloatArray:
        """That of the nearest moment (n, 3, 3)."""
        after = np.clip(np.searchsorted(self.time_s, time_s), 1, len(self.time_s) - 1)
        is_before = time_s - self.time_s[after - 1] < self.time_s[after] - time_s
        return self._covariance[np.where(is_before, after - 1, after)]

    def speed_rad_s(self, time_s: FloatArray) -> FloatArray:
        """Angular velocity in fixed axes (n, 3)."""
        turned: FloatArray = (self.at(time_s + SLOPE_S) * self.at(time_s - SLOPE_S).inv()).as_rotvec() / (2 * SLOPE_S)
        return turned


def _coarse_offsets_s(curves: list[tuple[_Curve, _Curve]]) -> list[float]:
    """Offsets at which the two films turn equally fast most of the time, the likeliest first."""
    starts_s = [min(pair[film].time_s[0] for pair in curves) for film in range(2)]
    ends_s = [max(pair[film].time_s[-1] for pair in curves) for film in range(2)]
    counts = [int((end - start) / COARSE_S) + 1 for start, end in zip(starts_s, ends_s, strict=True)]
    size = 1 << int(np.ceil(np.log2(sum(counts))))
    sums = np.zeros((6, size))
    for pair in curves:
        series = []
        for film, curve in enumerate(pair):
            time_s = starts_s[film] + COARSE_S * np.arange(counts[film])
            known = curve.is_known(time_s)
            speed = np.zeros(counts[film])
            speed[known] = np.linalg.norm(curve.speed_rad_s(time_s[known]), axis=1)
            series.append([np.fft.rfft(part, size) for part in (known.astype(float), speed, speed**2)])
        pairs = ((0, 0), (1, 1), (1, 0), (0, 1), (2, 0), (0, 2))
        sums += [np.fft.irfft(series[0][one] * series[1][two].conj(), size) for one, two in pairs]
    count, both, one, two, square_1, square_2 = sums
    enough = count * COARSE_S >= clock_beliefs().least_overlap_s
    count = np.maximum(count, 1)
    spread = np.maximum((square_1 - one**2 / count) * (square_2 - two**2 / count), 1e-20)
    alike = np.where(enough, (both - one * two / count) / np.sqrt(spread), -1.0)
    lag = np.arange(size)
    order = np.argsort(np.where(lag < counts[0], lag, lag - size))
    alike, lag = alike[order], np.where(lag < counts[0], lag, lag - size)[order]
    peaks = find_peaks(np.pad(alike, 1, constant_values=-2))[0] - 1
    peaks = peaks[np.argsort(-alike[peaks])][:MOST_CANDIDATES]
    return [float(lag[peak] * COARSE_S + starts_s[0] - starts_s[1]) for peak in peaks if alike[peak] > 0]


@dataclass(frozen=True, eq=False)
class _Lines:
    """What one round of the fit sees: differences (m, 3) in noise units, slopes (m, 3, p), plain angles (m, 3)."""

    off: FloatArray
    slopes: FloatArray
    angle_rad: FloatArray
    run_s: FloatArray
    segment: NDArray[np.int64]


class _Fit:
    """Offset [s], rate [ppm], C and X that lay the second film upon the first, starting at one offset."""

    def __init__(self, curves: list[_Curve], tracks: list[Track], start_s: float, given: Clock | None) -> None:
        self._curves, self._tracks = curves, tracks
        self.offset_s, self.rate_ppm = start_s, given.rate_ppm if given else 0.0
        self._believed = np.array([self.offset_s, self.rate_ppm])
        offset_sd_s = given.offset_sd_s if given and given.offset_sd_s else np.inf
        loose = np.full(3 + 3 * len(tracks), LOOSE_RAD)
        self._known = np.concatenate([[offset_sd_s, clock_beliefs().rate_sd_ppm], loose]) ** -2.0
        self.turns = [Rotation.identity() for _ in tracks]
        self.turn = Rotation.identity()

    @classmethod
    def best(cls, curves: list[_Curve], tracks: list[Track], start_s: float, given: Clock | None) -> "_Fit | None":
        """The fit, or None if too little is left that both films show."""
        fit = cls(curves, tracks, start_s, given)
        return fit if fit._started() and fit._run() else None

    @property
    def sd_s(self) -> float:
        """How well the offset is known in the middle of what both films show."""
        middle_s = float(np.mean(self.overlap_s) - self.offset_s) * 1e-6
        by = np.array([1.0, middle_s])
        return float(np.sqrt(by @ self.covariance @ by))

    def said(self, names: list[str]) -> Agreement:
        """The agreement that was found."""
        scale = np.diag([1.0, 1e-6])
        of_pictures = np.diag([clock_beliefs().picture_sd_s ** 2, 0.0])
        turns = dict(zip(names, self.turns, strict=True))
        covariance = scale @ self.covariance @ scale + of_pictures
        clock = Clock(self.offset_s, float(np.sqrt(covariance[0, 0])), self.rate_ppm)
        return Agreement(
            clock,
            covariance,
            self.turns_covariance,
            self.turn,
            turns,
            self.misfit_rad,
            self._unsteady_rad(),
            self.overlap_s,
        )

    def _run_s(self, time_s: FloatArray) -> FloatArray:
        return self.offset_s + time_s * (1 + 1e-6 * self.rate_ppm)

    def _started(self) -> bool:
        """C from how the segments turn, without X; then X of each."""
        speeds = []
        for curve, track in zip(self._curves, self._tracks, strict=True):
            other, run_s = _Curve(track), self._run_s(track.time_s)
            both = curve.is_known(run_s) & other.is_known(track.time_s)
            speeds.append((curve.speed_rad_s(run_s[both]), other.speed_rad_s(track.time_s[both])))
        if sum(len(one) for one, _ in speeds) < 8:
            return False
        crossed = sum((one.T @ two for one, two in speeds), np.zeros((3, 3)))
        left, _, right = np.linalg.svd(crossed)
        self.turn = Rotation.from_matrix(left @ np.diag([1, 1, np.linalg.det(left @ right)]) @ right)
        for number, (curve, track) in enumerate(zip(self._curves, self._tracks, strict=True)):
            run_s = self._run_s(track.time_s)
            both = curve.is_known(run_s)
            if both.any():
                self.turns[number] = ((self.turn * track.measured[both]).inv() * curve.at(run_s[both])).mean()
        return True

    def _lines(self) -> _Lines | None:
        parts = []
        for number, (curve, track) in enumerate(zip(self._curves, self._tracks, strict=True)):
            run_s = self._run_s(track.time_s)
            both = np.flatnonzero(curve.is_known(run_s))
            if not len(both):
                continue
            run_s = run_s[both]
            there = self.turn * track.measured[both] * self.turns[number]
            angle = (curve.at(run_s) * there.inv()).as_rotvec()
            turned = self.turn.as_matrix()
            covariance = curve.covariance_rad2(run_s) + turned @ track.covariance_rad2[both] @ turned.T
            slopes = np.zeros((len(both), 3, len(self._known)))
            speed = curve.speed_rad_s(run_s)
            slopes[:, :, 0], slopes[:, :, 1] = speed, speed * 1e-6 * track.time_s[both, None]
            slopes[:, :, 2:5] = -np.eye(3)
            slopes[:, :, 5 + 3 * number : 8 + 3 * number] = -there.as_matrix()
            white = np.linalg.inv(np.linalg.cholesky(covariance))
            off = np.einsum("nij,nj->ni", white, angle)
            parts.append((off, white @ slopes, angle, run_s, np.full(len(both), number)))
        if not parts:
            return None
        lines = _Lines(*(np.concatenate([part[place] for part in parts]) for place in range(5)))
        span_s = float(lines.run_s.max() - lines.run_s.min())
        return lines if span_s >= clock_beliefs().least_overlap_s * 0.9 and len(lines.run_s) >= 8 else None

    def _run(self) -> bool:
        """Rounds of weighted least squares, the differences made independent from one moment to the next."""
        for _ in range(ROUNDS):
            found = self._lines()
            if found is None:
                return False
            lines = found
            off, slopes, weight = _white(lines)
            across = (slopes * weight[:, None, None]).reshape(-1, slopes.shape[2]).T
            square = float((weight[:, None] * off**2).sum()) / max(3 * float(weight.sum()) - len(self._known), 1.0)
            information = across @ slopes.reshape(-1, slopes.shape[2]) / square + np.diag(self._known)
            away = np.concatenate([np.array([self.offset_s, self.rate_ppm]) - self._believed, np.zeros(self._free)])
            step = -np.linalg.solve(information, across @ off.reshape(-1) / square + self._known * away)
            self._move(step)
            whole = np.linalg.inv(information).astype(float)
            self.covariance, self.turns_covariance = whole[:2, :2], whole[2:, 2:]
            if abs(step[0]) < 1e-6:
                break
        self.mean_square = float((lines.off**2).mean())
        self.misfit_rad = float(np.sqrt((lines.angle_rad**2).sum(axis=1).mean()))
        self.overlap_s = (float(lines.run_s.min()), float(lines.run_s.max()))
        self._last = lines
        return True

    @property
    def _free(self) -> int:
        return len(self._known) - 2

    def _move(self, step: FloatArray) -> None:
        self.offset_s += float(np.clip(step[0], -0.1, 0.1))
        self.rate_ppm += float(step[1])
        self.turn = Rotation.from_rotvec(step[2:5]) * self.turn
        self.turns = [
            turn * Rotation.from_rotvec(x) for turn, x in zip(self.turns, step[5:].reshape(-1, 3), strict=True)
        ]

    def _unsteady_rad(self) -> float:
        """The largest mean difference over one second."""
        second = np.floor(self._last.run_s - self._last.run_s.min()).astype(int)
        means = [self._last.angle_rad[second == one].mean(axis=0) for one in np.unique(second)]
        return float(np.linalg.norm(means, axis=1).max())


def _white(lines: _Lines) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Differences and slopes made independent of those of the moment before, and weights that take from outliers."""
    order = np.lexsort((lines.run_s, lines.segment))
    off, slopes = lines.off[order], lines.slopes[order]
    step_s = np.diff(lines.run_s[order])
    usual_s = float(np.median(step_s[step_s > 0]))
    follows = (np.diff(lines.segment[order]) == 0) & (step_s > 0) & (step_s < 3 * usual_s)
    size = np.linalg.norm(off, axis=1)
    weight = np.minimum(1.0, OUTLIER * np.median(size) / np.maximum(size, 1e-12))
    pairs = (weight[1:] * weight[:-1])[follows][:, None]
    together = float((pairs * off[1:][follows] * off[:-1][follows]).sum())
    alone = float((pairs * (off[1:][follows] ** 2 + off[:-1][follows] ** 2)).sum()) / 2
    ratio = float(np.clip(together / max(alone, 1e-20), 0.0, MOST_CORRELATED_RATIO))
    share = np.where(follows, ratio ** (np.abs(step_s) / usual_s), 0.0)[:, None]
    left = np.sqrt(1 - share**2)
    white_off, white_slopes = off.copy(), slopes.copy()
    white_off[1:] = (off[1:] - share * off[:-1]) / left
    white_slopes[1:] = (slopes[1:] - share[:, :, None] * slopes[:-1]) / left[:, :, None]
    return white_off, white_slopes, weight
