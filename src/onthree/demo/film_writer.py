"""Writes rendered scenes as phones write films, and beside each what is true: times, angles, camera, rig."""

import csv
import io
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
from av.audio.frame import AudioFrame
from av.audio.stream import AudioStream
from av.container import OutputContainer
from av.video.frame import VideoFrame
from av.video.stream import VideoStream
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from onthree.capture.rig import Rig, RigTag, rig_from
from onthree.demo.render import Renderer
from onthree.demo.scene import Phone, Scene

FloatArray = NDArray[np.float64]
ByteArray = NDArray[np.uint8]

TICKS_A_SECOND = 90_000
SAMPLES_A_SECOND = 48_000
SAMPLES_A_PACKET = 1024
CLAP_LENGTH_S, CLAP_HZ = 0.03, 2500.0
ENCODERS = {"h264": "libx264", "hevc": "libx265"}
TRUTH_COLUMNS = (
    "time_s",
    "rot_z_deg",
    "rot_x_deg",
    "rot_y_deg",
    "total_deg",
    "head_x_mm",
    "head_y_mm",
    "head_z_mm",
    "room_s",
)
CAMERA_KEYS = ("cx", "cy", "k1", "k2", "p1", "p2")


@dataclass(frozen=True)
class Encoding:
    """How a film is written: ``crf`` (lower is better), or ``bit_rate`` in bits a second if it is not None."""

    codec: str = "h264"
    crf: int = 20
    bit_rate: int | None = None
    preset: str = "veryfast"
    suffix: str = ".mp4"
    is_ten_bit: bool = False
    has_sound: bool = False
    title: str = "invented, rendered"


@dataclass(frozen=True, eq=False)
class Truth:
    """What is true of a film at its frames (n): times in the film and in the room, trunk_from_head, camera, rigs.

    ``facts`` holds what else is known of it, such as the start lag.
    """

    time_s: FloatArray
    room_s: FloatArray
    rotation: Rotation
    place_m: FloatArray
    camera: FloatArray
    rig: Rig
    by_hand: Rig
    facts: Mapping[str, Any]


def write_film(
    path: Path,
    frames: Iterable[ByteArray],
    shown_s: FloatArray,
    encoding: Encoding | None = None,
    turned_deg: int = 0,
    claps_s: Iterable[float] = (),
) -> None:
    """Write frames of brightness with exact presentation times (to 1/90000 s); claps are heard if it has sound."""
    encoding = encoding or Encoding()
    ticks = np.rint(shown_s * TICKS_A_SECOND).astype(int)
    with av.open(str(path), "w") as container:
        container.metadata["title"] = encoding.title
        frames = iter(frames)
        first = next(frames)
        stream = _video_stream(container, encoding, first.shape[1], first.shape[0], turned_deg)
        sound = container.add_stream("aac", rate=SAMPLES_A_SECOND, layout="mono") if encoding.has_sound else None
        for tick, luma in zip(ticks, (image for part in ([first], frames) for image in part), strict=True):
            picture = _picture(luma, encoding.is_ten_bit)
            picture.pts, picture.time_base = int(tick), Fraction(1, TICKS_A_SECOND)
            container.mux(stream.encode(picture))
        container.mux(stream.encode())
        if isinstance(sound, AudioStream):
            _write_sound(container, sound, float(shown_s[-1]), claps_s)


def _video_stream(
    container: OutputContainer, encoding: Encoding, width: int, height: int, turned_deg: int
) -> VideoStream:
    options = {"preset": encoding.preset}
    if encoding.bit_rate is None:
        options["crf"] = str(encoding.crf)
    if encoding.codec == "hevc":
        options["x265-params"] = "log-level=error"
    stream = container.add_stream(ENCODERS[encoding.codec], rate=30, options=options)
    assert isinstance(stream, VideoStream)
    stream.width, stream.height = width, height
    stream.pix_fmt = "yuv420p10le" if encoding.is_ten_bit else "yuv420p"
    stream.time_base = stream.codec_context.time_base = Fraction(1, TICKS_A_SECOND)
    stream.codec_context.thread_count = 1
    if encoding.codec == "hevc":
        stream.codec_context.codec_tag = "hvc1"
    if encoding.bit_rate is not None:
        stream.bit_rate = encoding.bit_rate
    if turned_deg:
        stream.set_display_rotation(turned_deg)
    return stream


def _picture(luma: ByteArray, is_ten_bit: bool) -> VideoFrame:
    """A grey picture; the colour planes say that there is none."""
    rows, columns = luma.shape
    kind = np.uint16 if is_ten_bit else np.uint8
    scale = 4 if is_ten_bit else 1
    planes = np.full((rows * 3 // 2, columns), 128 * scale, kind)
    planes[:rows] = luma.astype(kind) * scale
    if not is_ten_bit:
        return VideoFrame.from_ndarray(planes, format="yuv420p")
    picture = VideoFrame(columns, rows, "yuv420p10le")
    for plane, part in zip(
        picture.planes, (planes[:rows], planes[rows : rows + rows // 4], planes[-(rows // 4) :]), strict=True
    ):
        padded = np.zeros((plane.height, plane.line_size // 2), np.uint16)
        padded[:, : plane.width] = part.reshape(plane.height, plane.width)
        plane.update(padded.tobytes())
    return picture


def _write_sound(container: OutputContainer, stream: AudioStream, length_s: float, claps_s: Iterable[float]) -> None:
    """Quiet hiss, and a short fading tone that starts at each clap."""
    time_s = np.arange(int(np.ceil(length_s * SAMPLES_A_SECOND))) / SAMPLES_A_SECOND
    wave = np.random.default_rng(0).normal(0, 0.002, len(time_s))
    for clap_s in claps_s:
        after_s = time_s - clap_s
        ring = np.sin(2 * np.pi * CLAP_HZ * after_s) * np.exp(-after_s / (CLAP_LENGTH_S / 5))
        wave += 0.8 * np.where((after_s >= 0) & (after_s < CLAP_LENGTH_S), ring, 0)
    for start in range(0, len(wave), SAMPLES_A_PACKET):
        part = np.clip(wave[start : start + SAMPLES_A_PACKET], -1, 1).astype(np.float32)
        heard = AudioFrame.from_ndarray(part[None], format="fltp", layout="mono")
        heard.sample_rate, heard.pts, heard.time_base = SAMPLES_A_SECOND, start, Fraction(1, SAMPLES_A_SECOND)
        container.mux(stream.encode(heard))
    container.mux(stream.encode())


def film_of(scene: Scene, phone: Phone, path: Path, encoding: Encoding | None = None) -> None:
    """Render what a phone sees of a scene and write it."""
    claps_s = phone.shown_at_s(np.array(scene.claps_s))
    write_film(path, Renderer(scene, phone).frames(), phone.shown_s, encoding, phone.turned_deg, claps_s)


def truth_of(scene: Scene, phone: Phone, by_hand: Rig, facts: Mapping[str, Any] | None = None) -> Truth:
    """What is true of the film of a phone, at the times its file tells."""
    shown_s = np.rint(phone.shown_s * TICKS_A_SECOND) / TICKS_A_SECOND
    head = scene.trunk_from_head(phone.frame_s)
    return Truth(
        shown_s,
        phone.frame_s,
        Rotation.from_matrix(head.rotation),
        head.place_m,
        phone.camera,
        scene.rig,
        by_hand,
        facts or {},
    )


def write_truth(path: Path, truth: Truth, phone: Phone) -> None:
    """Write ``<film>.json`` (camera, rigs, facts) and ``<film>.truth.csv`` (angles, places by frame) beside a film."""
    values = dict(zip(CAMERA_KEYS, truth.camera[2:].tolist(), strict=True))
    focal_px, aspect = truth.camera[:2].tolist()
    told = {
        "what": "invented rehearsal, rendered; exactly known truth",
        "family": truth.rig.family,
        "axes": "segment axes: X anterior, Y cranial, Z right; tag axes: z out of the face, y up, x to the right",
        "truth": "trunk_from_head, intrinsic Z-X-Y Cardan angles; +z extension, +x right lateral bending, +y left "
        "axial rotation; head_*_mm: origin of the head in trunk axes; room_s: the clock all films of a scene share",
        "camera": {"width": phone.width, "height": phone.height, "fx": focal_px, "fy": focal_px * aspect}
        | values
        | {"k3": 0.0, "pixel_centre": "integer coordinates"},
        "capture": {"exposure_s": phone.exposure_s, "readout_s": phone.readout_s},
        "facts": dict(truth.facts),
        "tags_as_measured_by_hand": [_tag_row(tag) for tag in truth.by_hand.tags],
        "tags_true": [_tag_row(tag) for tag in truth.rig.tags],
    }
    path.with_suffix(".json").write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")
    angles_deg = truth.rotation.as_euler("ZXY", degrees=True)
    total_deg = np.degrees(truth.rotation.magnitude())
    rows = np.column_stack([truth.time_s, angles_deg, total_deg, 1000 * truth.place_m, truth.room_s])
    with path.with_suffix(".truth.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(TRUTH_COLUMNS)
        writer.writerows([f"{value:.6f}" for value in row] for row in rows)


def read_truth(film: Path) -> Truth:
    """What was written beside a film."""
    told = json.loads(film.with_suffix(".json").read_text(encoding="utf-8"))
    rows = np.loadtxt(
        io.StringIO(film.with_suffix(".truth.csv").read_text(encoding="utf-8")), delimiter=",", skiprows=1
    )
    camera = told["camera"]
    values = [camera["fx"], camera["fy"] / camera["fx"], *(camera[key] for key in CAMERA_KEYS)]
    rotation = Rotation.from_euler("ZXY", rows[:, 1:4], degrees=True)
    rig, by_hand = (
        rig_from({"family": told["family"], "tag": told[key]}) for key in ("tags_true", "tags_as_measured_by_hand")
    )
    return Truth(rows[:, 0], rows[:, 8], rotation, rows[:, 5:8] / 1000, np.array(values), rig, by_hand, told["facts"])


def _tag_row(tag: RigTag) -> dict[str, Any]:
    row: dict[str, Any] = {"id": tag.id, "segment": tag.segment, "size_m": tag.size_m}
    for key, vector in (("centre_m", tag.centre_m), ("rotvec_rad", tag.rotvec_rad)):
        if vector is not None:
            row[key] = [round(value, 6) for value in vector.tolist()]
    return row


def rig_text(rig: Rig) -> str:
    """A rig as the rig file a person writes."""
    lines = [f'family = "{rig.family}"', f'measured_as = "{rig.measured_as}"']
    lines += [f"by_hand_m = {rig.by_hand_m:.4g}", f"by_hand_rad = {rig.by_hand_rad:.4g}"]
    for tag in rig.tags:
        lines += ["", "[[tag]]", *(f"{key} = {json.dumps(value)}" for key, value in _tag_row(tag).items())]
    return "\n".join(lines) + "\n"
