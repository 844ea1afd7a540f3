"""The angles of head on trunk over time as a drawing (SVG): three planes and the total, with their bands.

Where the head is not known the line is broken and the ground hatched. Long films are thinned out by the smallest and
the largest value of each short stretch, so that no peak is lost.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from html import escape
from textwrap import wrap
from typing import Any

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

ROWS = (
    ("Extension +, flexion -", "#1f5a7a"),
    ("Right lateral bending +, left -", "#1f5a7a"),
    ("Left axial rotation +, right -", "#1f5a7a"),
    ("Total angle", "#1c2530"),
)
INK, SOFT, LINE, TINT, WARM = "#1c2530", "#56616d", "#aeb7c0", "#eef1f4", "#a8480f"
WIDTH_PX, LEFT_PX, RIGHT_PX, TOP_PX = 1000, 62, 20, 104
ROW_PX, GAP_PX, BELOW_PX = 128, 22, 40
MOST_STRETCHES = 900
LEAST_HEIGHT_DEG = 2.0


@dataclass(frozen=True, kw_only=True)
class TracedPhase:
    """A phase to be marked: its name and ends, its peak and when head and body passed a first size [s], NaN if unknown.

    ``first_size`` is that size in words, such as first degree.
    """

    name: str
    start_s: float
    end_s: float
    peak_s: float
    head_first_s: float
    body_first_s: float
    first_size: str


@dataclass(frozen=True, eq=False, kw_only=True)
class Traces:
    """What is drawn: title and line below it, angles and half bands (n, 4) in the order of ``ROWS``, NaN in gaps."""

    title: str
    said: str
    time_s: FloatArray
    angles_deg: FloatArray
    half_bands_deg: FloatArray
    phases: Sequence[TracedPhase]


def traces_svg(traces: Traces) -> str:
    """The drawing. Times run to the right, each row has its own scale."""
    height_px = TOP_PX + len(ROWS) * (ROW_PX + GAP_PX) - GAP_PX + BELOW_PX
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH_PX} {height_px}" width="{WIDTH_PX}" '
        f'height="{height_px}" role="img" font-family="Atkinson Hyperlegible, Arial, sans-serif" font-size="13">',
        f"<title>{escape(traces.title)}</title><desc>{escape(traces.said)}</desc>",
        f'<defs><pattern id="lost" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        f'<line x1="0" y1="0" x2="0" y2="7" stroke="{LINE}" stroke-width="2"/></pattern></defs>',
        f'<rect width="{WIDTH_PX}" height="{height_px}" fill="#ffffff"/>',
        _text(LEFT_PX, 22, traces.title, size_px=17, weight="bold"),
    ]
    lines = wrap(traces.said, 140)[:2]
    parts += [_text(LEFT_PX, 39 + 15 * place, line, colour=SOFT, size_px=12) for place, line in enumerate(lines)]
    axis = _Axis(traces.time_s)
    parts += [_phase(phase, axis, height_px) for phase in traces.phases]
    for row in range(len(ROWS)):
        parts += _row(traces, row, axis)
    parts += _clock(axis, height_px)
    parts += [mark for phase in traces.phases for mark in _moments(phase, axis, height_px)]
    return "\n".join([*parts, "</svg>", ""])


class _Axis:
    """Where a moment is drawn."""

    def __init__(self, time_s: FloatArray) -> None:
        self.first_s, self.last_s = float(time_s[0]), float(time_s[-1])

    def px(self, at_s: float) -> float:
        share = (min(max(at_s, self.first_s), self.last_s) - self.first_s) / (self.last_s - self.first_s)
        return LEFT_PX + share * (WIDTH_PX - LEFT_PX - RIGHT_PX)


def _row(traces: Traces, row: int, axis: _Axis) -> Iterator[str]:
    words, colour = ROWS[row]
    top_px = TOP_PX + row * (ROW_PX + GAP_PX)
    angles, half = traces.angles_deg[:, row], traces.half_bands_deg[:, row]
    low, high = angles - half, angles + half
    if row == len(ROWS) - 1:
        low = np.maximum(low, 0.0)
    least_deg, most_deg = _reach_deg(low, high)
    scale = ROW_PX / (most_deg - least_deg)

    def down(deg: FloatArray) -> FloatArray:
        placed: FloatArray = top_px + (most_deg - deg) * scale
        return placed

    for start_s, end_s in lost_s(traces.time_s, ~np.isnan(angles)):
        left_px, right_px = axis.px(start_s), axis.px(end_s)
        yield (
            f'<rect class="lost" x="{left_px:.1f}" y="{top_px}" width="{max(right_px - left_px, 1):.1f}" '
            f'height="{ROW_PX}" fill="url(#lost)"/>'
        )
        if row == 0 and right_px - left_px > 60:
            words_there = "not seen" if np.isnan(traces.angles_deg[:, -1]).any() else "not known"
            yield _text((left_px + right_px) / 2, top_px + 16, words_there, colour=SOFT, anchor="middle")
    for tick in _ticks(least_deg, most_deg, 5):
        at_px = float(down(np.array(tick)))
        strong = INK if tick == 0 else LINE
        yield f'<line x1="{LEFT_PX}" x2="{WIDTH_PX - RIGHT_PX}" y1="{at_px:.1f}" y2="{at_px:.1f}" stroke="{strong}" '
        yield f'stroke-width="{0.9 if tick == 0 else 0.5}"/>'
        yield _text(LEFT_PX - 8, at_px + 4, f"{tick:g}°", colour=SOFT, anchor="end", size_px=12)
    for stretch in thinned(traces.time_s, angles, low, high):
        right = [axis.px(at_s) for at_s in stretch.time_s]
        ring = [*zip(right, down(stretch.high), strict=True), *reversed([*zip(right, down(stretch.low), strict=True)])]
        yield f'<polygon class="band" points="{_points(ring)}" fill="{colour}" fill-opacity="0.22"/>'
        line = _points(zip([axis.px(at_s) for at_s in stretch.line_s], down(stretch.line), strict=True))
        yield f'<polyline class="angle" points="{line}" fill="none" stroke="{colour}" stroke-width="1.5"/>'
    yield _text(LEFT_PX + 4, top_px - 5, f"{words} (degrees)", size_px=12.5, weight="bold")


@dataclass(frozen=True, eq=False)
class Thinned:
    """A stretch without gaps: its line through the extremes of short pieces, and the band around it."""

    line_s: FloatArray
    line: FloatArray
    time_s: FloatArray
    low: FloatArray
    high: FloatArray


def thinned(time_s: FloatArray, value: FloatArray, low: FloatArray, high: FloatArray) -> Iterator[Thinned]:
    """The stretches in which a value (n) is known, each through the extremes of at most 900 pieces of the film."""
    per_piece = max(1, len(time_s) // MOST_STRETCHES)
    for run in _runs(~np.isnan(value)):
        pieces = np.array_split(run, max(1, len(run) // per_piece)) if per_piece > 1 else [run]
        if per_piece == 1:
            yield Thinned(time_s[run], value[run], time_s[run], low[run], high[run])
            continue
        ends = [sorted({int(one[value[one].argmin()]), int(one[value[one].argmax()])}) for one in pieces]
        kept = np.array([place for pair in ends for place in pair])
        yield Thinned(
            time_s[kept],
            value[kept],
            np.array([time_s[one].mean() for one in pieces]),
            np.array([low[one].min() for one in pieces]),
            np.array([high[one].max() for one in pieces]),
        )


def lost_s(time_s: FloatArray, is_known: BoolArray) -> list[tuple[float, float]]:
    """The stretches in which nothing is known, from the last known moment before to the first known after."""
    last = len(time_s) - 1
    return [(float(time_s[max(run[0] - 1, 0)]), float(time_s[min(run[-1] + 1, last)])) for run in _runs(~is_known)]


def _runs(is_kept: BoolArray) -> list[NDArray[np.intp]]:
    places = np.flatnonzero(is_kept)
    return [run for run in np.split(places, np.flatnonzero(np.diff(places) > 1) + 1) if len(run)]


def _reach_deg(low: FloatArray, high: FloatArray) -> tuple[float, float]:
    if np.isnan(low).all():
        return -LEAST_HEIGHT_DEG / 2, LEAST_HEIGHT_DEG / 2
    least_deg, most_deg = min(float(np.nanmin(low)), 0.0), max(float(np.nanmax(high)), 0.0)
    spare_deg = max(0.06 * (most_deg - least_deg), (LEAST_HEIGHT_DEG - (most_deg - least_deg)) / 2)
    return least_deg - spare_deg, most_deg + spare_deg


def _ticks(least: Any, most: Any, about: int) -> list[Any]:
    """Round numbers between two ends, about so many."""
    step = 10.0 ** np.floor(np.log10((most - least) / about))
    step *= next(times for times in (1, 2, 5, 10) if (most - least) / (step * times) <= about)
    return [float(number * step) for number in range(int(np.ceil(least / step)), int(np.floor(most / step + 0.02)) + 1)]


def _clock(axis: _Axis, height_px: int) -> Iterator[str]:
    bottom_px = height_px - BELOW_PX
    for tick in _ticks(axis.first_s, axis.last_s, 12):
        at_px = axis.px(tick)
        yield f'<line x1="{at_px:.1f}" x2="{at_px:.1f}" y1="{bottom_px}" y2="{bottom_px + 5}" stroke="{INK}"/>'
        yield _text(at_px, bottom_px + 19, f"{tick:g}", colour=SOFT, anchor="middle", size_px=12)
    yield _text(
        WIDTH_PX - RIGHT_PX, bottom_px + 34, "seconds from the first frame", colour=SOFT, anchor="end", size_px=12
    )


def _phase(phase: TracedPhase, axis: _Axis, height_px: int) -> str:
    left_px, right_px = axis.px(phase.start_s), axis.px(phase.end_s)
    width_px, top_px = max(right_px - left_px, 1.0), TOP_PX - 30
    room = max(int(width_px / 7), 2)
    name = phase.name if len(phase.name) <= room else phase.name[: room - 1] + "…"
    return (
        f'<rect class="phase" x="{left_px:.1f}" y="{top_px}" width="{width_px:.1f}" '
        f'height="{height_px - BELOW_PX - top_px}" fill="{TINT}"/>'
        f'<line x1="{left_px:.1f}" x2="{left_px:.1f}" y1="{top_px}" y2="{height_px - BELOW_PX}" stroke="{LINE}"/>'
        + _text(left_px + 4, top_px + 11, name, size_px=11.5)
    )


def _moments(phase: TracedPhase, axis: _Axis, height_px: int) -> Iterator[str]:
    bottom_px = height_px - BELOW_PX
    firsts = (("head", phase.head_first_s, "4 3"), ("body", phase.body_first_s, "1 3"))
    known = sorted((at_s, f"{of}: {phase.first_size}", dashes) for of, at_s, dashes in firsts if not np.isnan(at_s))
    for number, (at_s, words, dashes) in enumerate(known):
        at_px = axis.px(at_s)
        yield (
            f'<line class="start" x1="{at_px:.1f}" x2="{at_px:.1f}" y1="{TOP_PX}" y2="{bottom_px}" stroke="{WARM}" '
            f'stroke-width="1.2" stroke-dasharray="{dashes}"/>'
        )
        yield _text(at_px + 3, TOP_PX + 12 + 13 * number, words, colour=WARM, size_px=11.5)
    if not np.isnan(phase.peak_s):
        at_px = axis.px(phase.peak_s)
        yield (
            f'<line class="peak" x1="{at_px:.1f}" x2="{at_px:.1f}" y1="{bottom_px - ROW_PX}" y2="{bottom_px}" '
            f'stroke="{WARM}" stroke-width="1.2"/>'
        )
        side, anchor = (-4, "end") if at_px > WIDTH_PX - 150 else (4, "start")
        words = f"peak at {phase.peak_s:.2f} s"
        yield _text(at_px + side, bottom_px - ROW_PX - 5, words, colour=WARM, size_px=11.5, anchor=anchor)


def _points(places: Iterable[tuple[Any, Any]]) -> str:
    return " ".join(f"{across:.1f},{down:.1f}" for across, down in places)


def _text(
    x_px: float,
    y_px: float,
    words: str,
    colour: str = INK,
    anchor: str = "start",
    size_px: float = 13,
    weight: str = "",
) -> str:
    bold = f' font-weight="{weight}"' if weight else ""
    return (
        f'<text x="{x_px:.1f}" y="{y_px:.1f}" fill="{colour}" text-anchor="{anchor}" font-size="{size_px:g}"{bold}>'
        f"{escape(words)}</text>"
    )
