"""How far the head moved on the trunk in films of printed tags, phase by phase, and when head and body started."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from onthree.actions.measured_lags import MOVING, REFERENCE, phase_lags
from onthree.capture.camera import Camera
from onthree.capture.camera_file import KnownCamera
from onthree.capture.film import open_film
from onthree.capture.phases_file import NOTHING_MARKED, MarkedPhases
from onthree.capture.progress import Listener
from onthree.capture.rig import Rig
from onthree.capture.tagged_video import Movements, TaggedVideo, read_tagged_video
from onthree.capture.two_films import By as ClockBy
from onthree.capture.two_films import read_two_films
from onthree.kinematics.angles import HeadOnTrunk, head_on_trunk, relative_rotation
from onthree.kinematics.band_sources import spread_by_kind
from onthree.kinematics.bands import Bands, phase_bands
from onthree.kinematics.measures import NAMES, Phase, PhaseMeasures, measures, noise_floor
from onthree.kinematics.segment_motion import FloatArray, RelativeUncertainty, SegmentMotion
from onthree.kinematics.start_lag import StartLag
from onthree.kinematics.still import Stretch, is_still, still_stretches_s, stretch_said

WHOLE = "whole film"
LEAST_AFTER_S = 0.5
"""Where less of an unmarked film is left after its still stretch, nobody did anything: the phase is all of it."""
MOVED = ", but there was movement in it"
CAUTIONS = (
    "An awake volunteer guards: a limp neck may move more, and a dummy moves otherwise.",
    "What was measured is how the tags moved: helmet on pads is not head on trunk, and neither is a vertebra.",
    "No accepted safe threshold exists: no motion is ever called safe, and none is forbidden by a number here.",
    "Dummy before person, with spotters and consent; nobody under age without permission; never on a real patient.",
    "Local protocol, medical direction and the maker's manual come first. Nothing here is clinical advice.",
)


class MeasureError(ValueError):
    """A film that was read but cannot be measured; says why and what to do."""


@dataclass(frozen=True)
class Way:
    """Which segment is measured on which, and what the clocks of two films of one run are laid upon each other by."""

    moving: str = MOVING
    reference: str = REFERENCE
    clock: ClockBy = "motion"


USUAL = Way()


@dataclass(frozen=True, eq=False, kw_only=True)
class PhaseResult:
    """What one phase of a film shows; arrays in the order of ``NAMES``, ``floor`` what nothing moving would show.

    ``spread`` is each measure's standard deviation if only one kind of error had been made, by its name;
    ``why_no_lag`` says why the start lag is not known, or is empty.
    """

    phase: Phase
    technique: str | None
    lag: StartLag
    why_no_lag: str
    measures: PhaseMeasures
    bands: Bands
    floor: FloatArray
    spread: Mapping[str, FloatArray]

    def widened_by(self, name: str) -> str:
        """The largest named source of a measure's band, and its share; empty where there is no band."""
        square = {kind: spread[NAMES.index(name)] ** 2 for kind, spread in self.spread.items()}
        if not np.nansum(list(square.values())) or np.isnan(list(square.values())).any():
            return ""
        largest = max(square, key=lambda kind: square[kind])
        return f"{largest} {square[largest] / sum(square.values()):.0%}"


@dataclass(frozen=True, eq=False, kw_only=True)
class FilmResult:
    """One film, or two of one run, measured: the motion as read, head on trunk smoothed and raw, the phases.

    ``marked_wrong``: marks that do not fit the film. ``is_camera_calibrated``: a camera file was given.
    """

    paths: tuple[Path, ...]
    rig: Rig
    read: TaggedVideo
    track: HeadOnTrunk
    raw_track: HeadOnTrunk
    uncertainty: RelativeUncertainty
    neutral_said: str
    phases: tuple[PhaseResult, ...]
    bound_deg: float | None
    marked_wrong: tuple[str, ...] = ()
    is_camera_calibrated: bool = False

    @property
    def name(self) -> str:
        """What the film is called."""
        return " + ".join(path.name for path in self.paths)

    @property
    def pair(self) -> tuple[str, str]:
        """Which segment was measured on which, such as head and trunk."""
        return self.uncertainty.moving, self.uncertainty.reference

    @property
    def flags(self) -> tuple[str, ...]:
        """What was noticed about the film and its numbers."""
        lags = tuple(f"{one.phase.name}: {one.why_no_lag}" for one in self.phases if one.why_no_lag)
        return (*self.noticed, *lags)

    @property
    def noticed(self) -> tuple[str, ...]:
        """What was noticed besides starts that could not be told."""
        return (*self.read.motion.flags, *self.track.warnings, *self.marked_wrong)

    @property
    def moved_most(self) -> PhaseResult:
        """The phase in which the head turned most on the trunk."""
        return max(self.phases, key=lambda one: float(np.nan_to_num(one.measures.of("peak_total_deg"), nan=-1.0)))

    @property
    def headline(self) -> str:
        """The sentence to say while the team still kneels: the lag of the phase that moved most, and its peak."""
        most = self.moved_most
        return f"{most.phase.name}: {most.why_no_lag or most.lag.said}. {peak_said(most, *self.pair)}"


def peak_said(result: PhaseResult, moving: str = MOVING, reference: str = REFERENCE) -> str:
    """The largest turn of head on trunk since the start of the phase, and when it was, as a sentence."""
    place = NAMES.index("peak_total_deg")
    value, low, high = result.measures.values[place], result.bands.low[place], result.bands.high[place]
    if np.isnan(value):
        return f"How far the {moving} turned on the {reference} is not known: they were not seen together."
    at_s = result.measures.moment_s("peak_total_deg")
    band, (from_s, until_s) = f"95 % band {low:.1f} to {high:.1f}", result.bands.peak_s
    when = f"{at_s:.2f} s (95 % band {from_s:.2f} to {until_s:.2f})"
    return f"The {moving} turned on the {reference} by up to {value:.1f} degrees from its start ({band}), at {when}."


def read_film(
    paths: tuple[Path, ...],
    rig: Rig,
    known: KnownCamera | Sequence[KnownCamera] | None = None,
    marked: MarkedPhases = NOTHING_MARKED,
    on_progress: Listener | None = None,
    way: Way = USUAL,
) -> TaggedVideo:
    """Read a film, or the two films of one run, whose cameras may be known, one for both or one for each.

    Raises ValueError with what to do, Cancelled if the listener does.
    """
    _check_pair(rig, way)
    order = {way.moving: 0, way.reference: 2}
    rig = replace(rig, tags=tuple(sorted(rig.tags, key=lambda tag: order.get(tag.segment, 1))))
    movements = None
    if marked.movements_s:
        movements = Movements(marked.movements_s["nod"], marked.movements_s["turn"], way.moving, way.reference)
    each = tuple(known) if isinstance(known, Sequence) else (known,) * len(paths)
    cameras = [_camera(path, one) for path, one in zip(paths, each, strict=True)]
    readouts_s = [(one.readout_s if one else None) or 0.0 for one in each]
    if len(paths) == 1:
        return read_tagged_video(paths[0], rig, cameras[0], marked.neutral_s, on_progress, movements, readouts_s[0])
    return read_two_films(
        (paths[0], paths[1]),
        rig,
        (cameras[0], cameras[1]),
        marked.neutral_s,
        way.clock,
        on_progress,
        movements,
        (readouts_s[0], readouts_s[1]),
    )


def _check_pair(rig: Rig, way: Way) -> None:
    """Refuse a pair of segments that the rig does not have."""
    if missing := [name for name in (way.moving, way.reference) if name not in rig.segments]:
        raise MeasureError(
            f"rig: no tags on {' and '.join(missing)}, but on {', '.join(rig.segments)}: correct the rig, or say which "
            "segment is measured on which with --moving and --on"
        )


def _camera(path: Path, known: KnownCamera | None) -> Camera | None:
    if known is None:
        return None
    film = open_film(path)
    return known.of_size(film.width, film.height)


def measured(
    paths: tuple[Path, ...],
    rig: Rig,
    read: TaggedVideo,
    marked: MarkedPhases = NOTHING_MARKED,
    bound_deg: float | None = None,
    way: Way = USUAL,
) -> FilmResult:
    """The measures of what was read, phase by phase; the same film gives the same bands. Raises MeasureError."""
    motion, pair = read.motion, (way.moving, way.reference)
    if missing := [name for name in pair if name not in motion.segments]:
        raise MeasureError(
            f"{paths[0].name}: no tag on {' and '.join(missing)} was seen: film both, or correct the rig"
        )
    pairs = [one for one in read.uncertainty if (one.moving, one.reference) == pair]
    if not pairs:
        raise MeasureError(f"{paths[0].name}: not read as {way.moving} on {way.reference}: read it again that way")
    uncertainty = pairs[0]
    neutral_s, said = _neutral(paths[0], motion, marked.neutral_s, pair)
    untold = read.untold(*pair)
    track, raw_track = (untold.of_track(head_on_trunk(each, *pair, neutral_s)) for each in (motion, read.raw))
    phases = _phases(paths[0], motion, marked, neutral_s)
    results = _results(read, uncertainty, track, phases, marked, bound_deg)
    return FilmResult(
        paths=paths,
        rig=rig,
        read=read,
        track=track,
        raw_track=raw_track,
        uncertainty=uncertainty,
        neutral_said=said,
        phases=results,
        bound_deg=bound_deg,
        marked_wrong=tuple(_marked_wrong(motion, marked.phases, said)),
    )


def _marked_wrong(motion: SegmentMotion, phases: Sequence[Phase], neutral_said: str) -> Iterator[str]:
    end_s, step_s = float(motion.time_s[-1]), float(np.median(np.diff(motion.time_s)))
    for phase in phases:
        if phase.start_s >= end_s:
            yield f"{phase.name} begins at {phase.start_s:.2f} s, but the film ends at {end_s:.2f} s: not measured"
        elif phase.end_s > end_s + step_s:
            yield f"{phase.name} is marked until {phase.end_s:.2f} s, but the film ends at {end_s:.2f} s"
    if neutral_said.endswith(MOVED):
        yield f"{neutral_said}: all angles count from a neutral that is not still; mark another stretch"


def _results(
    read: TaggedVideo,
    uncertainty: RelativeUncertainty,
    track: HeadOnTrunk,
    phases: Sequence[Phase],
    marked: MarkedPhases,
    bound_deg: float | None,
) -> tuple[PhaseResult, ...]:
    motion, neutral_s, untold = read.motion, track.neutral_s, read.untold(uncertainty.moving, uncertainty.reference)
    bands = phase_bands(motion, uncertainty, phases, _rng(motion), bound_deg, neutral_s)
    spreads = spread_by_kind(motion, uncertainty, phases, _rng(motion), bound_deg, neutral_s)
    lags = phase_lags(read, phases, (uncertainty.moving, uncertainty.reference), marked.neutral_s)
    found = [measures(track, phase, bound_deg) for phase in phases]
    return tuple(
        PhaseResult(
            phase=phase,
            technique=marked.techniques.get(phase.name),
            lag=lags[number].lag,
            why_no_lag=lags[number].why_not,
            measures=untold.of_measures(found[number]),
            bands=untold.of_bands(bands[number]),
            floor=untold.of_values(noise_floor(track, found[number], neutral_s)),
            spread={kind: untold.of_values(each[number]) for kind, each in spreads.items()},
        )
        for number, phase in enumerate(phases)
    )


def _rng(motion: SegmentMotion) -> np.random.Generator:
    """Chance that is the same for the same film."""
    return np.random.default_rng(int(motion.source_sha256[:16], 16))


def _neutral(path: Path, motion: SegmentMotion, marked_s: Stretch | None, pair: tuple[str, str]) -> tuple[Stretch, str]:
    """The neutral stretch, and how it came about; where none is marked, the first in which head on trunk is still."""
    (moving, reference), together = pair, " and ".join(pair)
    both = motion.is_seen(moving) & motion.is_seen(reference)
    relative = [relative_rotation(motion, moving, reference)]
    if marked_s is not None:
        if not (both & (motion.time_s >= marked_s[0]) & (motion.time_s <= marked_s[1])).any():
            raise MeasureError(
                f"{path.name}: {together} are not seen together in the marked neutral {stretch_said(marked_s)}: mark "
                "another, from the first frame of the film"
            )
        held = "" if is_still(marked_s, motion.time_s, both, relative) else MOVED
        return marked_s, f"neutral as marked, {stretch_said(marked_s)}{held}"
    if not both.any():
        raise MeasureError(f"{path.name}: {together} are never seen together: turn the tags to the camera")
    stretches = still_stretches_s(motion.time_s, both, relative)
    if not stretches:
        raise MeasureError(
            f"{path.name}: the {moving} is never still on the {reference}, so there is no neutral: mark a neutral "
            "stretch in a phases file, and hold still before each run"
        )
    return stretches[0], f"neutral taken, not marked: the first still stretch, {stretch_said(stretches[0])}"


def _phases(path: Path, motion: SegmentMotion, marked: MarkedPhases, neutral_s: Stretch) -> tuple[Phase, ...]:
    """What is marked and begins before the end of the film, or the film after its still stretch."""
    end_s = float(motion.time_s[-1])
    if not marked.phases:
        is_still_throughout = end_s - neutral_s[1] < LEAST_AFTER_S
        return (Phase(WHOLE, float(motion.time_s[0]) if is_still_throughout else neutral_s[1], end_s),)
    inside = tuple(phase for phase in marked.phases if phase.start_s < end_s)
    if not inside:
        late = ", ".join(f"{phase.name} begins at {phase.start_s:.2f} s" for phase in marked.phases)
        raise MeasureError(f"{path.name}: it ends at {end_s:.2f} s, but {late}: correct the phases file")
    return inside
