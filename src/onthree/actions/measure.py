"""How far the head moved on the trunk in films of printed tags, phase by phase, and when head and body started."""

from collections.abc import Mapping, Sequence
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
from onthree.capture.tagged_video import Movements, TaggedVideo, read_tagged_video, with_axes_of
from onthree.capture.two_films import read_two_films
from onthree.kinematics.angles import HeadOnTrunk, head_on_trunk, relative_rotation
from onthree.kinematics.band_sources import spread_by_kind
from onthree.kinematics.bands import Bands, phase_bands
from onthree.kinematics.measures import NAMES, Phase, PhaseMeasures, measures, noise_floor
from onthree.kinematics.segment_motion import FloatArray, RelativeUncertainty, SegmentMotion
from onthree.kinematics.start_lag import By, StartLag
from onthree.kinematics.still import Stretch, is_still, still_stretches_s, stretch_said

WHOLE = "whole film"
CAUTIONS = (
    "Measured on an awake volunteer: a limp neck may move more.",
    "What was measured is how the tags moved: helmet on pads is not head on trunk, and neither is a vertebra.",
    "No accepted safe threshold exists: no motion is ever called safe, and none is forbidden by a number here.",
    "Dummy before person, with spotters and consent; nobody under age without permission; never on a real patient.",
    "Local protocol, medical direction and the maker's manual come first. Nothing here is clinical advice.",
)


class MeasureError(ValueError):
    """A film that was read but cannot be measured; says why and what to do."""


@dataclass(frozen=True, eq=False, kw_only=True)
class PhaseResult:
    """What one phase of a film shows; arrays in the order of ``NAMES``, ``floor`` what nothing moving would show.

    ``spread`` is each measure's standard deviation if only one kind of error had been made, by its name; ``lag_by``
    says whether the starts were told by how the segments turn or by how they shift; ``why_no_lag`` says why the start
    lag is not known, or is empty.
    """

    phase: Phase
    technique: str | None
    lag: StartLag
    lag_by: By
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

    ``is_camera_calibrated``: a camera file was given.
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
    is_camera_calibrated: bool = False

    @property
    def name(self) -> str:
        """What the film is called."""
        return " + ".join(path.name for path in self.paths)

    @property
    def flags(self) -> tuple[str, ...]:
        """What was noticed about the film and its numbers."""
        lags = tuple(f"{one.phase.name}: {one.why_no_lag}" for one in self.phases if one.why_no_lag)
        return (*self.read.motion.flags, *self.track.warnings, *lags)

    @property
    def moved_most(self) -> PhaseResult:
        """The phase in which the head turned most on the trunk."""
        return max(self.phases, key=lambda one: float(np.nan_to_num(one.measures.of("peak_total_deg"), nan=-1.0)))

    @property
    def headline(self) -> str:
        """The sentence to say while the team still kneels: the lag of the phase that moved most, and its peak."""
        most = self.moved_most
        return f"{most.phase.name}: {most.why_no_lag or most.lag.said}. {peak_said(most)}"


def peak_said(result: PhaseResult) -> str:
    """The largest turn of head on trunk since the start of the phase, as a sentence."""
    place = NAMES.index("peak_total_deg")
    value, low, high = result.measures.values[place], result.bands.low[place], result.bands.high[place]
    if np.isnan(value):
        return "How far the head turned on the trunk is not known: they were not seen together."
    at_s = result.measures.moment_s("peak_total_deg")
    band = f"95 % band {low:.1f} to {high:.1f}"
    return f"The head turned on the trunk by up to {value:.1f} degrees from its start ({band}), at {at_s:.2f} s."


def read_film(
    paths: tuple[Path, ...],
    rig: Rig,
    known: KnownCamera | None = None,
    marked: MarkedPhases = NOTHING_MARKED,
    on_progress: Listener | None = None,
) -> TaggedVideo:
    """Read a film, or the two films of one run. Raises ValueError with what to do, Cancelled if the listener does."""
    rig = replace(rig, tags=tuple(sorted(rig.tags, key=lambda tag: (tag.segment == REFERENCE, tag.segment != MOVING))))
    movements = None
    if marked.movements_s:
        movements = Movements(marked.movements_s["nod"], marked.movements_s["turn"], MOVING, REFERENCE)
    cameras = [_camera(path, known) for path in paths]
    if len(paths) == 1:
        return read_tagged_video(paths[0], rig, cameras[0], marked.neutral_s, on_progress, movements)
    read = read_two_films(
        (paths[0], paths[1]), rig, (cameras[0], cameras[1]), marked.neutral_s, on_progress=on_progress
    )
    return read if movements is None else with_axes_of(read, movements)


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
) -> FilmResult:
    """The measures of what was read, phase by phase; the same film gives the same bands. Raises MeasureError."""
    motion = read.motion
    if missing := [name for name in (MOVING, REFERENCE) if name not in motion.segments]:
        raise MeasureError(
            f"{paths[0].name}: no tag on {' and '.join(missing)} was seen: film both, or correct the rig"
        )
    pairs = [one for one in read.uncertainty if (one.moving, one.reference) == (MOVING, REFERENCE)]
    if not pairs:
        raise MeasureError(f"{paths[0].name}: read as trunk on head: list the tags of the head first in the rig")
    uncertainty = pairs[0]
    neutral_s, said = _neutral(paths[0], motion, marked.neutral_s)
    track, raw_track = (head_on_trunk(each, MOVING, REFERENCE, neutral_s) for each in (motion, read.raw))
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
    )


def _results(
    read: TaggedVideo,
    uncertainty: RelativeUncertainty,
    track: HeadOnTrunk,
    phases: Sequence[Phase],
    marked: MarkedPhases,
    bound_deg: float | None,
) -> tuple[PhaseResult, ...]:
    motion, neutral_s = read.motion, track.neutral_s
    bands = phase_bands(motion, uncertainty, phases, _rng(motion), bound_deg, neutral_s)
    spreads = spread_by_kind(motion, uncertainty, phases, _rng(motion), bound_deg, neutral_s)
    lags = phase_lags(read, phases)
    found = [measures(track, phase, bound_deg) for phase in phases]
    return tuple(
        PhaseResult(
            phase=phase,
            technique=marked.techniques.get(phase.name),
            lag=lags[number].lag,
            lag_by=lags[number].by,
            why_no_lag=lags[number].why_not,
            measures=found[number],
            bands=bands[number],
            floor=noise_floor(track, found[number], neutral_s),
            spread={kind: each[number] for kind, each in spreads.items()},
        )
        for number, phase in enumerate(phases)
    )


def _rng(motion: SegmentMotion) -> np.random.Generator:
    """Chance that is the same for the same film."""
    return np.random.default_rng(int(motion.source_sha256[:16], 16))


def _neutral(path: Path, motion: SegmentMotion, marked_s: Stretch | None) -> tuple[Stretch, str]:
    """The neutral stretch, and how it came about; where none is marked, the first in which head on trunk is still."""
    both = motion.is_seen(MOVING) & motion.is_seen(REFERENCE)
    relative = [relative_rotation(motion, MOVING, REFERENCE)]
    if marked_s is not None:
        if not (both & (motion.time_s >= marked_s[0]) & (motion.time_s <= marked_s[1])).any():
            raise MeasureError(
                f"{path.name}: head and trunk are not seen together in the marked neutral {stretch_said(marked_s)}"
            )
        held = "" if is_still(marked_s, motion.time_s, both, relative) else ", but the head moved on the trunk in it"
        return marked_s, f"neutral as marked, {stretch_said(marked_s)}{held}"
    if not both.any():
        raise MeasureError(f"{path.name}: head and trunk are never seen together: turn the tags to the camera")
    stretches = still_stretches_s(motion.time_s, both, relative)
    if not stretches:
        raise MeasureError(
            f"{path.name}: the head is never still on the trunk, so there is no neutral: mark a neutral stretch in a "
            "phases file, and hold still before each run"
        )
    return stretches[0], f"neutral taken, not marked: the first still stretch, {stretch_said(stretches[0])}"


def _phases(path: Path, motion: SegmentMotion, marked: MarkedPhases, neutral_s: Stretch) -> tuple[Phase, ...]:
    end_s = float(motion.time_s[-1])
    if not marked.phases:
        return (Phase(WHOLE, min(neutral_s[1], float(motion.time_s[-2])), end_s),)
    beyond = [f"{phase.name} begins at {phase.start_s:.2f} s" for phase in marked.phases if phase.start_s >= end_s]
    if beyond:
        raise MeasureError(f"{path.name}: it ends at {end_s:.2f} s, but {', '.join(beyond)}: correct the phases file")
    return marked.phases
