"""Files that people give by mistake where a film of tags is asked for: tiny, and what is to be said of each."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import av
import cv2
import numpy as np

from onthree.demo.film_writer import film_of, write_film
from onthree.demo.scene import Scene
from onthree.demo.staging import Handling, boom_and_stalk, frame_times, movements, phone_on, stand

GREY = np.full((240, 320), 110, np.uint8)
EIGHT_K = (4320, 7680)
FRAMES = 6
SAID = {
    "sound.mp4": "holds no pictures, only sound or data; give the film itself",
    "8k.mp4": "7680 x 4320 pixels; film with at most 4096 pixels to the longer side",
    "no-times.h264": "frames without time stamps; export it again as MP4 or MOV",
    "mirrored.mp4": "the film is mirrored: its tags can be read only in a mirror; switch mirroring off",
    "photo.jpg": "a photo; give a film, not a photo",
    "empty.mp4": "not a film: the file is empty; copy it again from the phone",
    "no-frames.mp4": "holds no pictures, only sound or data; give the film itself",
    "one-frame.mp4": "1 frame could be read; give a film, not a photo or a broken file",
    "other-family.mp4": "no tag of tag36h11 was seen, but tags of tag25h9; name the family that was printed",
    "other-ids.mp4": "tags 104, 105, 111, 112 of tag36h11 were seen, none of them in the rig; give the rig file",
    "no-tags.mp4": "no tag was seen in 6 frames looked at; check light, focus, distance",
    "doubles-only.mp4": "no tag of the rig was seen alone; two tags with id 5 were seen in 7 frames",
}
"""What is said of each file after its name."""


def write_bad_films(folder: Path) -> list[Path]:
    """Write all of them into a folder, by name."""
    (folder / "empty.mp4").write_bytes(b"")
    cv2.imwrite(str(folder / "photo.jpg"), GREY)
    write_film(folder / "8k.mp4", [np.full(EIGHT_K, 110, np.uint8)], np.zeros(1))
    write_film(folder / "one-frame.mp4", [GREY], np.zeros(1))
    write_film(folder / "no-tags.mp4", [GREY] * FRAMES, np.arange(FRAMES) / 30)
    write_film(folder / "no-times.h264", [GREY] * FRAMES, np.arange(FRAMES) / 30)
    _write_sound(folder / "sound.mp4")
    _write_header(folder / "no-frames.mp4")
    for name, scene in _scenes():
        film_of(scene, scene.phones[0], folder / name)
    return [folder / name for name in sorted(SAID)]


def _scenes() -> Iterator[tuple[str, Scene]]:
    """Films of tags that the rig does not fit."""
    rng = np.random.default_rng(1)
    rig = boom_and_stalk()
    times_s = frame_times(30.0, FRAMES / 30, rng)
    phone = phone_on(stand(1.0, 0.6, 20), (480, 360), times_s, rng)
    usual = Scene(rig, movements(Handling(0.1, 0.1, 0.1, roll_deg=5), 0.5), (phone,))
    yield "mirrored.mp4", replace(usual, phones=(replace(phone, is_mirrored=True),))
    yield "other-family.mp4", replace(usual, rig=replace(rig, family="tag25h9"))
    others = tuple(replace(tag, id=100 + place) for place, tag in enumerate(rig.tags))
    yield "other-ids.mp4", replace(usual, rig=replace(rig, tags=others))
    doubled = tuple(replace(tag, id=5) for tag in rig.tags)
    yield "doubles-only.mp4", replace(usual, rig=replace(rig, tags=doubled))


def _write_sound(path: Path) -> None:
    with av.open(str(path), "w") as container:
        stream = container.add_stream("aac", rate=8000)
        frame = av.AudioFrame.from_ndarray(np.zeros((1, 1024), np.float32), format="fltp", layout="mono")
        frame.sample_rate = 8000
        container.mux(stream.encode(frame))
        container.mux(stream.encode())


def _write_header(path: Path) -> None:
    """A film that was stopped before its first frame."""
    with av.open(str(path), "w") as container:
        stream = container.add_stream("libx264", rate=30)
        stream.width, stream.height, stream.pix_fmt = 320, 240, "yuv420p"
        container.start_encoding()
