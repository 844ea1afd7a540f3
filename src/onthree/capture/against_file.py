"""Whether a film contradicts the camera file that is given with it: its own focal length against that of the file."""

from dataclasses import dataclass

import numpy as np

from onthree.capture.camera import Camera, guessed_camera
from onthree.capture.layout import Layout, LayoutError, calibrated_layout, views_of
from onthree.capture.preflight_limits import preflight_limits
from onthree.capture.rig import Rig
from onthree.capture.tags import Sightings


@dataclass(frozen=True)
class AgainstFile:
    """By how much a film's own focal length misses that of the file, a ratio to the file's, and to what sd."""

    off_ratio: float
    sd_ratio: float

    @property
    def is_off(self) -> bool:
        """Whether it is clearly that of another camera."""
        limits = preflight_limits()
        return abs(self.off_ratio) > max(limits.focal_sure_ratio * self.sd_ratio, limits.camera_off_ratio)

    @property
    def is_told(self) -> bool:
        """Whether the film tells its focal length well enough to say that the file fits."""
        limits = preflight_limits()
        return limits.focal_sure_ratio * self.sd_ratio <= 2 * limits.camera_off_ratio

    @property
    def said(self) -> str:
        """The difference with its uncertainty."""
        return f"focal length {self.off_ratio:+.1%} from that of the file, give or take {2 * self.sd_ratio:.1%}"


def free_camera(size_px: tuple[int, int], camera: Camera | None) -> Camera:
    """What a film's own focal length is sought from: any phone's, around that of the file where there is one.

    A film that tells nothing then stays at the file, and is not taken to contradict it.
    """
    return guessed_camera(*size_px, None if camera is None else camera.focal_px)


def against_file(sightings: Sightings, layout: Layout, free: Camera, camera: Camera) -> AgainstFile:
    """The film's own layout, calibrated from the camera ``free``, against the camera of the file.

    Single tags agree on a focal length that is too short, and too surely: of them no more is taken than was believed.
    """
    is_single = np.bincount(views_of(sightings, layout.tags, layout.segments).body, minlength=1).max() < 2
    own_sd_px = free.sd[0] if is_single else np.sqrt(layout.fit.covariance[0, 0])
    off_ratio = layout.fit.camera[0] / camera.focal_px - 1
    sd_ratio = np.hypot(own_sd_px, camera.sd[0]) / camera.focal_px
    return AgainstFile(float(off_ratio), float(sd_ratio))


def camera_file_flags(
    sightings: Sightings, rig: Rig, camera: Camera | None, size_px: tuple[int, int]
) -> tuple[str, ...]:
    """That the film contradicts the file, and what to do; nothing without a file, or where the film does not tell."""
    if camera is None:
        return ()
    free = free_camera(size_px, camera)
    try:
        found = against_file(sightings, calibrated_layout(sightings, rig, free), free, camera)
    except (LayoutError, np.linalg.LinAlgError):
        return ()
    if not found.is_off:
        return ()
    return (
        f"the camera file does not fit this film: {found.said}; the bands do not hold that: measure the film without "
        "the file, or measure the camera again with lens, zoom, crop and stabilisation as they were in this film",
    )
