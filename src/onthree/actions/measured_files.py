"""The files of a measured film: angles, traces, the film drawn on, the clip of the peak, how good the film was."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import numpy as np

from onthree.actions.measure import CAUTIONS, FilmResult, PhaseResult
from onthree.actions.measured_csv import angles_csv
from onthree.actions.measured_json import film_document
from onthree.actions.measured_rung import rung
from onthree.actions.written_files import Writing
from onthree.capture.clips import write_clip
from onthree.capture.drawn_film import Overlay, draw_film
from onthree.capture.lost import lost_stretches
from onthree.capture.poses import Poses
from onthree.capture.progress import Listener
from onthree.capture.tag_quality import seen_strip_ratio, tag_qualities
from onthree.capture.tagged_video import are_of_a_tag
from onthree.documents.quality import QualityPage, TagLine, quality_html, quality_pdf
from onthree.documents.traces import TracedPhase, Traces, traces_svg
from onthree.documents.typeset import png_of
from onthree.kinematics.measures import NAMES
from onthree.kinematics.segment_motion import FloatArray
from onthree.kinematics.start_lag import first_size
from onthree.kinematics.track_band import half_widths_deg

FILES = ("angles.csv", "traces.svg", "traces.png", "quality.pdf", "quality.html")
FILM_FILES = ("drawn.mp4", "peak.mp4")
BEFORE_PEAK_S, AFTER_PEAK_S = 1.5, 1.0
MOST_LOST = 12
"""Stretches in which a segment is not known that stand on the page."""
WIDENED = (
    "peak_total_deg",
    "range_flexion_extension_deg",
    "range_lateral_bending_deg",
    "range_axial_rotation_deg",
)


def write_files(
    result: FilmResult, folder: Path, on: date, with_film: bool, on_progress: Listener | None = None
) -> tuple[Path, ...]:
    """Write everything about a film; all files or none, and none if the listener calls it off."""
    half_deg = half_widths_deg(result.track, result.uncertainty)
    with Writing(folder) as writing:
        writing.add("angles.csv", angles_csv(result, half_deg))
        traces = _traces(result, half_deg)
        drawing = traces_svg(traces)
        writing.add("traces.svg", drawing)
        words = {"on": on, "title": traces.title, "said": traces.said}
        writing.add("traces.png", png_of("traces", words, {"traces.svg": drawing.encode()})[0])
        page = _quality(result, on)
        writing.add("quality.pdf", quality_pdf(page))
        writing.add("quality.html", quality_html(page))
        if with_film:
            draw_film(result.paths[0], writing.draft / "drawn.mp4", _overlay(result), on_progress)
            _write_peak(result, writing.draft / "peak.mp4")
        return writing.keep(film_document(result))


def _traces(result: FilmResult, half_deg: FloatArray) -> Traces:
    return Traces(
        title=f"{' on '.join(result.pair).capitalize()}, {result.name}",
        said=f"Measured as {result.read.motion.measured_as}; {result.neutral_said}; shaded: 95 % band. {CAUTIONS[0]} "
        "No motion is called safe.",
        time_s=result.track.time_s,
        angles_deg=_angles_deg(result),
        half_bands_deg=half_deg,
        phases=[
            TracedPhase(
                name=one.phase.name,
                start_s=one.phase.start_s,
                end_s=one.phase.end_s,
                peak_s=one.measures.moment_s("peak_total_deg"),
                head_first_s=one.lag.head.at_s,
                body_first_s=one.lag.body.at_s,
                first_size=first_size(one.lag.by),
            )
            for one in result.phases
        ],
    )


def _overlay(result: FilmResult) -> Overlay:
    motion = result.read.motion
    assert motion.position_m is not None
    poses = {
        segment: Poses(motion.frame_from_segment[segment].as_matrix(), motion.position_m[:, column])
        for column, segment in enumerate(motion.segments)
        if not are_of_a_tag(motion.flags, segment)
    }
    return Overlay(
        sightings=result.read.sightings,
        camera=result.read.layout.fit.camera,
        poses=poses,
        is_seen={segment: motion.is_seen(segment) for segment in motion.segments},
        angles_deg=_angles_deg(result),
        phases=[one.phase for one in result.phases],
        said=f"{motion.measured_as}; an awake volunteer guards, a dummy moves otherwise; no motion is called safe",
    )


def _angles_deg(result: FilmResult) -> FloatArray:
    return np.column_stack([result.track.angles_deg, result.track.total_deg])


def _write_peak(result: FilmResult, target: Path) -> None:
    at_s = result.moved_most.measures.moment_s("peak_total_deg")
    if np.isfinite(at_s):
        write_clip(result.paths[0], target, max(at_s - BEFORE_PEAK_S, 0.0), at_s + AFTER_PEAK_S)


def _quality(result: FilmResult, on: date) -> QualityPage:
    read, count = result.read, len(result.track.time_s)
    tags = tag_qualities(read.sightings, read.layout, result.rig.tags)
    reached = rung(result)
    return QualityPage(
        on=on,
        title=f"How good the film was: {result.name}",
        said=result.headline,
        facts=tuple(_facts(result)),
        seen_ratio=seen_strip_ratio(
            result.track.time_s, {name: read.motion.is_seen(name) for name in read.motion.segments}
        ),
        last_s=float(result.track.time_s[-1]),
        lost=tuple(_lost(result)),
        tags=[
            TagLine(
                id=tag.id,
                segment=tag.segment,
                seen_ratio=tag.seen_count / count,
                side_px=tag.side_px,
                residual_px=tag.residual_px,
                moved_mm=1000 * tag.moved_m,
                turned_deg=tag.turned_deg,
                is_left_out=tag.is_left_out,
            )
            for tag in tags
        ],
        widened=[row for one in result.phases for row in _widened(one)],
        rung=reached.said,
        lifts=reached.lifts,
        noticed=[flag for flag in result.flags if not flag.endswith("was never seen")],
        cautions=CAUTIONS,
    )


def _facts(result: FilmResult) -> Iterator[tuple[str, str]]:
    read, time_s = result.read, result.track.time_s
    fit = read.layout.fit
    steps_ms = 1000 * np.diff(time_s)
    yield "Measured", read.motion.measured_as
    yield (
        "Frames",
        f"{len(time_s)} in {time_s[-1]:.2f} s, {np.median(steps_ms):.1f} ms apart, at most {steps_ms.max():.0f} ms",
    )
    focal = f"{fit.camera[0]:.0f} px, standard deviation {np.sqrt(max(fit.covariance[0, 0], 0.0)):.1f} px"
    yield "Focal length", focal
    yield "Corners off", f"{fit.sd_px:.3f} px, standard deviation of each coordinate"
    noise_deg = np.degrees(np.sqrt(np.einsum("nii->ni", result.uncertainty.noise_cov_rad2)))[result.track.is_seen]
    axes = ", ".join(f"{value:.3f}" for value in np.median(noise_deg, axis=0))
    yield (
        "Noise, smoothed",
        f"{axes} degrees about the {result.pair[1]}'s x, y, z; fades in {result.uncertainty.noise_correlation_s:.2f} s",
    )
    yield "Neutral", result.neutral_said
    if len(result.paths) > 1:
        yield "Tags below", f"seen and size: those of {result.paths[0].name}"


def _lost(result: FilmResult) -> Iterator[tuple[str, str, str, str]]:
    """The stretches in which a segment is not known, by when they begin; of very many only the longest."""
    every = sorted(lost_stretches(result.track.time_s, result.read.bodies), key=lambda one: -one.frames_count)
    for one in sorted(every[:MOST_LOST], key=lambda one: one.start_s):
        frames = f"{one.frames_count} frames" if one.frames_count > 1 else "one frame"
        yield one.segment, f"{one.start_s:.2f} s", f"{one.end_s:.2f} s", f"{frames}: {one.why}"
    if shorter := every[MOST_LOST:]:
        frames = f"{sum(one.frames_count for one in shorter)} frames"
        yield "", "", "", f"{len(shorter)} shorter stretches, {frames} together"


def _widened(one: PhaseResult) -> Iterator[tuple[str, str, str, str]]:
    for name in WIDENED:
        place = NAMES.index(name)
        if not np.isnan(one.measures.values[place]):
            words = name.removesuffix("_deg").replace("_", " ")
            band = f"{one.bands.low[place]:.1f} to {one.bands.high[place]:.1f} degrees"
            yield one.phase.name, words, band, one.widened_by(name)
