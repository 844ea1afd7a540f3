"""Is this film worth a run? A few seconds of it, looked at before the team kneels; each thing ok, not ok or unknown.

What cannot be seen is asked. Unknown is never ok.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np

from onthree.capture.against_file import AgainstFile, against_file, free_camera
from onthree.capture.camera import Camera
from onthree.capture.camera_file import KnownCamera
from onthree.capture.film import Film, Frame, is_photo, open_film
from onthree.capture.film_check import NoTagsError, check_seen
from onthree.capture.focal import focal_change, least_told_ratio
from onthree.capture.layout import LayoutError, calibrated_layout
from onthree.capture.pictures import read_photo
from onthree.capture.preflight_limits import Limits, preflight_limits
from onthree.capture.preflight_look import Exposure, Look, exposure_of, look_around, look_at
from onthree.capture.rig import Rig
from onthree.capture.tags import find_tags
from onthree.capture.tracks import tracks_of

State = Literal["ok", "not ok", "unknown"]

CELLS_OF = {"tag36h11": 8, "tag25h9": 7, "tag16h5": 6}
FEWEST_CELLS = 6
QUESTIONS = (
    "Battery enough for the evening, and the phone not in the sun?",
    "Free space for every run (a minute of film may take 200 MB)?",
    "Stabilisation off, lens and zoom fixed, focus and exposure locked, calls silenced?",
    "Phone where nobody kicks it and no back comes between?",
    "Dummy before person; spotters, consent; nobody under age without permission; never a real patient?",
)


@dataclass(frozen=True)
class Check:
    """One thing that was looked at: what was found, and what to do unless it is ok."""

    name: str
    state: State
    found: str
    do: str = ""


@dataclass(frozen=True)
class Preflight:
    """Everything that was looked at, and what has to be asked."""

    checks: tuple[Check, ...]
    questions: tuple[str, ...] = QUESTIONS

    @property
    def is_stopped(self) -> bool:
        """Whether anything is not ok."""
        return any(check.state == "not ok" for check in self.checks)


def preflight(path: Path, rig: Rig, known: KnownCamera | None = None) -> Preflight:
    """Look at the first seconds of a film, or at a photo.

    Raises FilmError for a file that cannot be read, CameraFileError for a camera of another size.
    """
    limits = preflight_limits()
    if is_photo(path):
        return Preflight(tuple(_of_photo(path, rig, limits)))
    film = open_film(path)
    camera = known.of_size(film.width, film.height) if known is not None else None
    look = look_at(film, rig)
    try:
        check_seen(path, rig, look.sightings)
    except NoTagsError as error:
        seen = Check("segments", "not ok", str(error), "mend that first: nothing else can be seen without tags")
        return Preflight((seen, _frame_rate(look, limits), _hdr(film)))
    return Preflight(tuple(_of_film(film, look, rig, camera, limits)))


def _of_film(film: Film, look: Look, rig: Rig, camera: Camera | None, limits: Limits) -> Iterator[Check]:
    yield _segments(look, rig, limits)
    yield from (Check("double tags", "not ok", flag, "print each id once") for flag in look.sightings.flags)
    yield _size(look, limits)
    yield _exposure(exposure_of(look), look, rig, limits)
    yield _light(look, limits)
    yield _frame_rate(look, limits)
    yield _hdr(film)
    yield stabilisation(look, limits)
    yield from _focal(film, look, rig, camera, limits)


def _of_photo(path: Path, rig: Rig, limits: Limits) -> Iterator[Check]:
    frame = Frame(0.0, read_photo(path))
    sightings = find_tags([frame], rig.family, {tag.id: tag.segment for tag in rig.tags})
    look = look_around([frame], sightings)
    yield _segments(look, rig, limits)
    if len(sightings.tag):
        yield _size(look, limits)
        yield _light(look, limits)
    for name in ("exposure", "frame rate", "stabilisation", "focal length"):
        yield Check(name, "unknown", "a photo does not show it", "film a few seconds in which the tags move")


def _segments(look: Look, rig: Rig, limits: Limits) -> Check:
    segment_of = {tag.id: tag.segment for tag in rig.tags}
    frames = len(look.sightings.time_s)
    seen = {
        segment: len(
            {
                int(f)
                for f, tag in zip(look.sightings.frame, look.sightings.tag, strict=True)
                if segment_of[int(tag)] == segment
            }
        )
        / frames
        for segment in rig.segments
    }
    found = ", ".join(f"{segment} in {share:.0%} of {frames} frames" for segment, share in seen.items())
    if min(seen.values()) >= limits.seen_least_ratio:
        return Check("segments", "ok", found)
    return Check("segments", "not ok", found, "turn the phone or the tags until both segments are seen throughout")


def _size(look: Look, limits: Limits) -> Check:
    side_px = look.side_px()
    by_tag = {int(tag): float(np.median(side_px[look.sightings.tag == tag])) for tag in np.unique(look.sightings.tag)}
    tag, least_px = min(by_tag.items(), key=lambda each: each[1])
    found = f"smallest is tag {tag} with {least_px:.0f} px, {limits.side_least_px:.0f} are wanted"
    if least_px >= limits.side_least_px:
        return Check("size of tags", "ok", found)
    return Check("size of tags", "not ok", found, "go closer, or print larger tags; do not zoom digitally")


def _exposure(exposure: Exposure | None, look: Look, rig: Rig, limits: Limits) -> Check:
    """Smear of the tag that is largest in pixels a metre, against its cells."""
    if exposure is None:
        return Check("exposure", "unknown", "nothing moved", "film a few seconds in which the tags are moved briskly")
    size_m = {tag.id: tag.size_m for tag in rig.tags}
    scale = float(np.median(look.side_px() / [size_m[int(tag)] for tag in look.sightings.tag]))
    cell_m = min(size_m[int(tag)] for tag in look.sightings.tag) / CELLS_OF.get(rig.family, FEWEST_CELLS)
    least_s, most_s = exposure.least_s, limits.blur_low_ratio * exposure.most_s
    smear_m = limits.speed_asked_m_s * np.array([least_s, most_s])
    told = f"between {_share(least_s)} and {_share(most_s)} by the blur of moving tags"
    found = f"{told}: {limits.speed_asked_m_s:.0f} m/s smears up to {smear_m[1] * scale:.1f} px"
    do = "lock the exposure at 1/240 s or shorter, and bring more light"
    if smear_m[1] <= limits.smear_most_ratio * cell_m:
        return Check("exposure", "ok", found)
    return Check("exposure", "not ok" if smear_m[0] > limits.smear_most_ratio * cell_m else "unknown", found, do)


def _share(time_s: float) -> str:
    return f"1/{1 / time_s:.0f} s" if time_s > 1e-4 else "0 s"


def _light(look: Look, limits: Limits) -> Check:
    contrast, clipped = float(np.median(look.white - look.black)), float(np.median(look.clipped_ratio))
    found = f"black {np.median(look.black):.0f}, white {np.median(look.white):.0f} of 255"
    if contrast < limits.contrast_least_count:
        return Check("light", "not ok", found, "more light, or a longer exposure if that line allows it")
    if clipped > limits.clipped_most_ratio:
        return Check("light", "not ok", f"{found}, {clipped:.0%} burnt out", "less exposure, no glare on the print")
    flicker = _flicker_ratio(look)
    if flicker > limits.flicker_most_ratio:
        found = f"{found}, changing by {flicker:.0%} from frame to frame"
        return Check(
            "light", "not ok", found, "lamps flicker: another lamp, or an exposure of a full period of the mains"
        )
    return Check("light", "ok", found)


def _flicker_ratio(look: Look) -> float:
    """How much a tag's white usually changes to the next frame."""
    order = np.lexsort((look.sightings.frame, look.sightings.tag))
    white, tag = look.white[order], look.sightings.tag[order]
    change = np.abs(np.diff(white))[np.diff(tag) == 0]
    return float(np.median(change) / np.median(white)) if len(change) else 0.0


def _frame_rate(look: Look, limits: Limits) -> Check:
    steps_s = np.diff(look.sightings.time_s)
    rate_hz, longest_s = 1 / float(np.median(steps_s)), float(steps_s.max())
    found = f"{rate_hz:.0f} frames a second, longest step {longest_s * 1000:.0f} ms"
    if rate_hz < limits.rate_least_hz:
        return Check("frame rate", "not ok", found, "film with 60 frames a second, 30 at least")
    if longest_s > limits.gap_most_s:
        return Check("frame rate", "not ok", found, "close other programs, let the phone cool")
    return Check("frame rate", "ok", found)


def _hdr(film: Film) -> Check:
    if film.hdr is not None:
        return Check("brightness curve", "not ok", f"HDR ({film.hdr})", "switch HDR off: it bends edges")
    return Check("brightness curve", "ok", "no HDR")


def stabilisation(look: Look, limits: Limits) -> Check:
    """Only a picture that should stand still and jumps gives stabilisation away."""
    do = "look up the setting: off"
    known = np.isfinite(look.shift_px).all(axis=1)
    if known.mean() < limits.still_share_ratio:
        return Check("stabilisation", "unknown", "the background shows too little to tell", do)
    shift_px, time_s = look.shift_px[known], look.sightings.time_s[known]
    off_px = np.linalg.norm(shift_px - np.median(shift_px, axis=0), axis=1)
    is_still = off_px <= limits.shift_most_px
    if is_still.all():
        return Check("stabilisation", "unknown", "the picture stands still, which hides it", do)
    if is_still.mean() < limits.still_share_ratio:
        return Check("stabilisation", "unknown", "the phone moves, which hides it", f"{do}; a stand is better")
    found = f"the picture jumps by {off_px.max():.1f} px at {time_s[int(off_px.argmax())]:.1f} s"
    return Check("stabilisation", "not ok", found, "switch it off, or fix the stand")


def _focal(film: Film, look: Look, rig: Rig, camera: Camera | None, limits: Limits) -> Iterator[Check]:
    """From a layout and a focal length of these seconds' own."""
    do = "lock focus and zoom; film a few seconds in which head and trunk turn"
    try:
        guess = free_camera((film.width, film.height), camera)
        layout = calibrated_layout(look.sightings, rig, guess)
    except (LayoutError, np.linalg.LinAlgError) as error:
        yield Check("focal length", "unknown", f"cannot be told from these seconds ({error})", do)
        return
    tracks = tracks_of(look.sightings, layout)
    change = focal_change(look.sightings, layout, tracks, guess)
    told_ratio = least_told_ratio(look.sightings, layout, tracks, guess)
    if change is not None:
        found = f"changes by {change.change_ratio:+.1%} at {change.start_s:.1f} s"
        yield Check("focal length", "not ok", found, do)
    elif told_ratio is None or told_ratio > limits.focal_told_ratio:
        least = "" if told_ratio is None else f": only a change of {told_ratio:.0%} would be seen"
        yield Check("focal length", "unknown", f"these seconds do not tell{least}", do)
    else:
        yield Check("focal length", "ok", f"steady: a change of {told_ratio:.1%} would be seen")
    if camera is not None:
        yield _camera_file(against_file(look.sightings, layout, guess, camera))


def _camera_file(found: AgainstFile) -> Check:
    if found.is_off:
        do = "another lens, zoom, crop or stabilisation than in the file: set it as then, or measure the camera again"
        return Check("camera file", "not ok", found.said, do)
    if not found.is_told:
        return Check("camera file", "unknown", found.said, "film a few seconds in which head and trunk turn")
    return Check("camera file", "ok", found.said)
