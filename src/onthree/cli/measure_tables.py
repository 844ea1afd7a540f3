"""How measured films read in a terminal: the headline first, then the phases, then what to keep in mind."""

from collections.abc import Iterator
from typing import Any

import numpy as np
from rich.console import Console

from onthree.actions.evening import Tonight
from onthree.actions.measure import CAUTIONS, FilmResult, PhaseResult
from onthree.actions.measure_films import FilmsAnswer
from onthree.actions.measured_rung import rung
from onthree.cli.tables import blank_table, indented, new_console
from onthree.kinematics.angles import ORDER
from onthree.kinematics.measures import NAMES, PLANE_NAMES, WAY_NAMES
from onthree.kinematics.passing import LagBand
from onthree.kinematics.start_lag import StartLag, first_size, later_size

PLANES = {name: name.replace("_", " ") for name in (*PLANE_NAMES, "total")} | {PLANE_NAMES[0]: "flexion/extension"}
SHOWN = {
    **{f"range_{plane}_deg": f"range, {PLANES[plane]}" for plane in PLANE_NAMES},
    **{f"peak_{way}_deg": f"peak, {way.replace('_', ' ')}" for ways in WAY_NAMES for way in ways},
    "peak_total_deg": "peak, total",
    "rms_total_deg": "root mean square, total",
    "path_deg": "path",
    "peak_speed_deg_s": "peak speed",
    **{f"beyond_{plane}_s": f"beyond bound, {PLANES[plane]}" for plane in (*PLANE_NAMES, "total")},
    "range_anterior_m": "shift, forward and back",
    "range_cranial_m": "shift, up and down the trunk",
    "range_right_m": "shift, sideways",
    "peak_distance_m": "largest shift",
}
UNSEEN = " was never seen"
UNITS = {"_deg_s": "deg/s", "_deg": "deg", "_s": "s", "_m": "mm"}


def measured(answer: FilmsAnswer) -> None:
    """Film by film, then tonight's noise, the cautions, what was written and what failed."""
    console = new_console()
    for result in answer.films:
        _film(console, result)
    if answer.tonight:
        _tonight(console, answer.tonight)
    for text in CAUTIONS if answer.films else ():
        indented(console, text, "")
    if answer.kept:
        console.print(f"kept with run {answer.kept.run}: {answer.kept.count} numbers")
        for name in answer.kept.left_out:
            indented(console, f"not kept: {name}, whose technique is not a phase of the run", "  ")
    for path in answer.written:
        replaced = " (replaced)" if path in answer.replaced else ""
        console.print(f"written: {path}{replaced}")


def _film(console: Console, result: FilmResult) -> None:
    console.print(result.name, style="bold")
    indented(console, result.headline, "  ")
    seen = ", ".join(f"{segment} {share:.0%}" for segment, share in result.read.seen_ratio.items())
    frames = len(result.read.motion.time_s)
    indented(console, f"Measured: {result.read.motion.measured_as}. {frames} frames; seen: {seen}.", "  ")
    indented(console, f"{result.neutral_said.capitalize()}. Order {ORDER}.", "  ")
    console.print()
    for one in result.phases:
        _phase(console, result, one)
    reached = rung(result)
    indented(console, f"{reached.said.capitalize()}.", "  ")
    for lift in reached.lifts:
        indented(console, f"- {lift}", "  ")
    for flag in _noticed(result):
        indented(console, f"noticed: {flag}", "  ")
    console.print()


def _noticed(result: FilmResult) -> Iterator[str]:
    """What was noticed; tags that were never seen in one line."""
    if unseen := [flag.removesuffix(UNSEEN) for flag in result.noticed if flag.endswith(UNSEEN)]:
        yield f"never seen: {', '.join(unseen)}"
    yield from (flag for flag in result.noticed if not flag.endswith(UNSEEN))


def _tonight(console: Console, tonight: Tonight) -> None:
    console.print("Tonight's noise", style="bold")
    if tonight.noise is None:
        indented(console, f"{tonight.why_not}.", "  ")
    else:
        rows = blank_table("", ("Head on trunk", 36), ("While nothing moves", 20), ("Two runs differ anyway by", None))
        for name, words in SHOWN.items():
            place = NAMES.index(name)
            if not np.isnan(tonight.noise.figure[place]):
                rows.add_row(
                    words, _number(name, tonight.noise.holds[place]), _number(name, tonight.noise.figure[place])
                )
        console.print(rows)
    for difference in tonight.differences:
        indented(console, f"{difference}.", "  ")
    console.print()


def _phase(console: Console, result: FilmResult, one: PhaseResult) -> None:
    technique = f" ({one.technique})" if one.technique and one.technique != one.phase.name else ""
    rows = blank_table(
        f"{one.phase.name}{technique}, {one.phase.start_s:.2f} to {one.phase.end_s:.2f} s",
        (" on ".join(result.pair).capitalize(), 31),
        ("Measured", 11),
        ("95 % band", 15),
        ("At rest", 7),
        ("Band mostly from", None),
    )
    if not one.why_no_lag:
        lag = one.lag
        body = "body" if result.pair[1] == "trunk" else result.pair[1]
        rows.add_row(f"start lag, {result.pair[0]} after {body}", *_lag_figures(lag))
        if np.isfinite(lag.later.lag_s):
            rows.add_row(f"the same at {later_size(lag.by)}", *_lag_figures(lag.later))
        for name, passing in zip((result.pair[0], body), (lag.head, lag.body), strict=True):
            band = _band(passing.low_s, passing.high_s, 2)
            rows.add_row(f"{name} passed its {first_size(lag.by)}", f"{passing.at_s:.2f} s", band)
    for name, words in SHOWN.items():
        place = NAMES.index(name)
        if not np.isnan(one.measures.values[place]):
            rows.add_row(words, *_figures(one, name))
    console.print(rows)
    told = one.why_no_lag or one.lag.said
    indented(console, f"{told[:1].upper()}{told[1:]}.", "  ")
    peak_s, (from_s, until_s) = one.measures.moment_s("peak_total_deg"), one.bands.peak_s
    if not np.isnan(peak_s):
        indented(console, f"Peak at {peak_s:.2f} s, 95 % band {from_s:.2f} to {until_s:.2f} s.", "  ")
    indented(console, f"Measured as {one.measures.said}.", "  ")
    if result.bound_deg is not None:
        indented(console, f"The bound of {result.bound_deg:g} degrees is your own: it is no limit of safety.", "  ")
    console.print()


def _lag_figures(lag: StartLag | LagBand) -> tuple[str, str]:
    value = f"{1000 * lag.lag_s + 0.0:.0f} ms".replace("-0 ", "0 ")
    return value, _band(1000 * lag.low_s, 1000 * lag.high_s, 0)


def _figures(one: PhaseResult, name: str) -> tuple[str, str, str, str]:
    place, (_, size, digits) = NAMES.index(name), _unit(name)
    floor = size * one.floor[place]
    return (
        _number(name, one.measures.values[place]),
        _band(size * one.bands.low[place], size * one.bands.high[place], digits),
        "" if np.isnan(floor) else f"{abs(floor):.{digits}f}",
        one.widened_by(name),
    )


def _number(name: str, value: Any) -> str:
    unit, size, digits = _unit(name)
    return f"{size * value + 0.0:.{digits}f} {unit}".replace("-0.0 ", "0.0 ")


def _unit(name: str) -> tuple[str, int, int]:
    """The unit a measure is shown in, what it is multiplied by, and the digits after the point."""
    ending = next(end for end in UNITS if name.endswith(end))
    return UNITS[ending], 1000 if ending == "_m" else 1, 2 if ending == "_s" else 1


def _band(low: Any, high: Any, digits: int) -> str:
    return "not known" if np.isnan(low) or np.isnan(high) else f"{low:.{digits}f} to {high:.{digits}f}"
