"""The clocks of two films from a flash that both cameras see, or a clap that both hear.

A flash is a lamp that is switched on: the brightness rises from one frame to the next, so it came between the middles
of the two. Where it is known how long a frame gathers light, a frame that caught only part of it says when.
A clap is heard by both microphones; how far sound and picture of one phone are apart is not known, only believed.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import av
import numpy as np
from av.audio.frame import AudioFrame
from numpy.typing import NDArray
from scipy.signal import correlate

from onthree.capture.clocks import ClockError, clock_beliefs
from onthree.capture.film import Frame
from onthree.kinematics.segment_motion import Clock

FloatArray = NDArray[np.float64]

EVERY_PX = 8
"""Brightness is taken from every eighth pixel across and down."""
LEAST_BRIGHTER_RATIO, LEAST_RISE_RATIO = 0.012, 8.0
"""A flash brightens the frame by this share of white, and by this many times what is usual from frame to frame."""
SECOND_RISE_RATIO, APART_S = 0.6, 0.15
"""Another rise this large against the first, this long before or after it, is another flash."""
PART_SD_RATIO = 0.05
"""How well the share of its light that a frame caught is known at best: pictures are not linear in light."""
PART_RATIO = 0.1
"""A frame is partly lit if it lacks more than this share of the rise."""
SOUND_HZ = 8000
ENVELOPE_S = 0.002
LEAST_CLAP_RATIO = 8.0
"""A clap is this many times louder than what is usual in the film."""
AROUND_S = 0.15
"""The part of the sound around a clap that is laid upon that of the other film."""


@dataclass
class Brightness:
    """The mean brightness of each frame of a film, as a share of white, gathered while it is read."""

    time_s: list[float] = field(default_factory=list)
    level_ratio: list[float] = field(default_factory=list)

    def watched(self, frames: Iterable[Frame]) -> Iterator[Frame]:
        """The frames as they come."""
        for frame in frames:
            self.time_s.append(frame.time_s)
            self.level_ratio.append(float(frame.luma[::EVERY_PX, ::EVERY_PX].mean()) / 255)
            yield frame


@dataclass(frozen=True)
class Moment:
    """When something was seen or heard on a film's own clock, and how well that is known [s]."""

    at_s: float
    sd_s: float


@dataclass(frozen=True, eq=False)
class _Sound:
    """When a film's sound begins on the clock of its frames, and what is heard."""

    start_s: float
    heard: FloatArray


def flash_clock(
    first: Brightness, second: Brightness, gathered_s: tuple[float | None, float | None] = (None, None)
) -> Clock:
    """The second film's clock on the first's, from one flash; ``gathered_s`` as for ``flash_moment``, of each film.

    Raises ClockError where a film shows no flash, or several.
    """
    moments, problems = [], []
    for which, seen, each_s in zip(("first", "second"), (first, second), gathered_s, strict=True):
        try:
            moments.append(flash_moment(seen, each_s))
        except ClockError as error:
            problems.append(f"{which} film: {error}")
    if problems:
        raise ClockError("; ".join(problems))
    return _clock(moments[0], moments[1], 0.0)


def flash_moment(seen: Brightness, gathered_s: float | None = None) -> Moment:
    """When a lamp was switched on: half a frame give or take, unless it is known how long a frame gathers light.

    ``gathered_s`` is exposure and read-out together; a frame's time is the middle of it. Raises ClockError if there is
    no flash, or more than one.
    """
    time_s, level = np.array(seen.time_s), np.array(seen.level_ratio)
    if len(time_s) < 4:
        raise ClockError("too few frames to see a flash in: film longer")
    rise = np.diff(level)
    usual = 1.4826 * float(np.median(np.abs(rise)))
    after = int(rise.argmax()) + 1
    if rise[after - 1] < max(LEAST_BRIGHTER_RATIO, LEAST_RISE_RATIO * usual):
        raise ClockError("no flash seen: switch on a lamp that brightens the whole picture of both films")
    apart = np.abs(time_s[1:] - time_s[after]) > APART_S
    if (rise[apart] > SECOND_RISE_RATIO * rise[after - 1]).any():
        raise ClockError("more than one flash seen: give one only, or cut the films")
    step_s = float(time_s[after] - time_s[after - 1])
    if gathered_s is None:
        return Moment(float(time_s[after]) - step_s / 2, step_s / np.sqrt(12))
    return _within_frame(time_s, level, after, min(gathered_s, step_s))


def _within_frame(time_s: FloatArray, level: FloatArray, after: int, gathered_s: float) -> Moment:
    """From how much of the rise the first lit frame caught, for a lamp that stays on; else between two frames."""
    noise = 1.4826 * float(np.median(np.abs(np.diff(level))))
    for lit in (after - 1, after):
        if not 0 < lit < len(level) - 1:
            continue
        whole = float(level[lit + 1] - level[lit - 1])
        share_ratio = float(level[lit] - level[lit - 1]) / whole if whole > 0 else 0.0
        if PART_RATIO < share_ratio < 1 - PART_RATIO:
            sd_s = gathered_s * max(noise / whole, PART_SD_RATIO)
            return Moment(float(time_s[lit]) + gathered_s * (0.5 - share_ratio), sd_s)
    edge_s = gathered_s * (0.5 - PART_RATIO)
    dark_s, lit_s = float(time_s[after - 1]) + edge_s, float(time_s[after]) - edge_s
    return Moment((dark_s + lit_s) / 2, max(lit_s - dark_s, 0.0) / np.sqrt(12))


def clap_clock(first: Path, second: Path) -> Clock:
    """The second film's clock on the first's, from the loudest clap. Raises ClockError where a film has no such sound.

    The sounds around the clap are laid upon each other; picture and sound of each phone may still be apart.
    """
    sounds, claps, problems = [], [], []
    for path in (first, second):
        try:
            sounds.append(_sound(path))
            claps.append(_clap_s(path, sounds[-1]))
        except ClockError as error:
            problems.append(str(error))
    if problems:
        raise ClockError("; ".join(problems))
    parts = []
    for sound, clap_s in zip(sounds, claps, strict=True):
        middle = round((clap_s - sound.start_s) * SOUND_HZ)
        around = round(AROUND_S * SOUND_HZ)
        part = np.pad(sound.heard, around)[middle : middle + 2 * around]
        parts.append(_envelope(part))
    alike = correlate(parts[0], parts[1])
    shift_s = (int(alike.argmax()) - len(parts[1]) + 1) / SOUND_HZ
    beliefs = clock_beliefs()
    apart_s = float(np.hypot(beliefs.sound_to_picture_sd_s, ENVELOPE_S / 2))
    return _clock(Moment(claps[0] + shift_s, apart_s), Moment(claps[1], apart_s), beliefs.sound_path_sd_s)


def _clock(first: Moment, second: Moment, besides_sd_s: float) -> Clock:
    return Clock(first.at_s - second.at_s, float(np.hypot(np.hypot(first.sd_s, second.sd_s), besides_sd_s)))


def _sound(path: Path) -> _Sound:
    """The sound of a film at 8000 values a second."""
    fix = "film with sound, or take the motion or a flash"
    with av.open(str(path)) as container:
        if not container.streams.audio or not container.streams.video:
            raise ClockError(f"{path.name}: no sound to hear a clap in; {fix}")
        pictures, sounds = container.streams.video[0], container.streams.audio[0]
        resampler = av.AudioResampler(format="flt", layout="mono", rate=SOUND_HZ)
        frame_s = sound_s = None
        parts = []
        for packet in container.demux(pictures, sounds):
            if packet.stream.type == "video":
                if packet.pts is not None and packet.time_base is not None:
                    moment_s = float(packet.pts * packet.time_base)
                    frame_s = moment_s if frame_s is None else min(frame_s, moment_s)
                continue
            for heard in packet.decode():
                if not isinstance(heard, AudioFrame):
                    continue
                if sound_s is None and heard.pts is not None and heard.time_base is not None:
                    sound_s = float(heard.pts * heard.time_base)
                parts += [each.to_ndarray()[0] for each in resampler.resample(heard)]
    if frame_s is None or sound_s is None or not parts:
        raise ClockError(f"{path.name}: its sound cannot be read; {fix}")
    return _Sound(sound_s - frame_s, np.concatenate(parts).astype(np.float64))


def _envelope(sound: FloatArray) -> FloatArray:
    """How loud the sound is, over two milliseconds."""
    width = round(ENVELOPE_S * SOUND_HZ)
    power = np.convolve(sound**2, np.ones(width) / width, mode="same")
    loud: FloatArray = np.sqrt(power)
    return loud


def _clap_s(path: Path, sound: _Sound) -> float:
    """When the sound grows loud most suddenly."""
    loud = _envelope(sound.heard)
    width = round(2 * ENVELOPE_S * SOUND_HZ)
    rise = loud[width:] - loud[:-width]
    at = int(rise.argmax())
    if rise[at] <= LEAST_CLAP_RATIO * float(np.percentile(np.abs(rise), 90)) or rise[at] < 1e-3:
        raise ClockError(f"{path.name}: no clap heard; clap once, sharply, near both phones")
    return sound.start_s + (at + width / 2) / SOUND_HZ
