"""Invented films to try the measuring on: ordinary ones of many kinds, and hard ones, as rehearsals make them."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np

from onthree.capture.rig import Rig
from onthree.demo.film_writer import Encoding, Truth, film_of, truth_of
from onthree.demo.scene import Flash, Phone, Scene, Slip, Zoom
from onthree.demo.staging import (
    Handling,
    body_blobs,
    boom_and_stalk,
    frame_times,
    hand_on,
    held,
    measured_by_hand,
    movements,
    passing,
    phone_on,
    stand,
)

FULL, SMALL = (1920, 1080), (1280, 720)
TURNED_AWAY_DEG = 180.0
DOUBLED = 20
"""The tag of the stalk in whose place the sheet of another one sits, where one sheet was printed twice."""
USUAL_BIT_RATES = {FULL: 12_000_000, SMALL: 7_000_000}
"""Bits a second, as phones write films of 30 frames a second; from memory."""


@dataclass(frozen=True, eq=False)
class Case:
    """A scene to be filmed, the rig as a person measured it, how the films are written, and what is known besides.

    ``handling`` is what the team does in an ordinary one.
    """

    name: str
    scene: Scene
    by_hand: Rig
    encoding: Encoding = field(default_factory=Encoding)
    facts: Mapping[str, Any] = field(default_factory=dict)
    handling: Handling | None = None

    def film(self, folder: Path) -> list[Path]:
        """Render and write the film of each phone; the slow part."""
        paths = []
        for index, phone in enumerate(self.scene.phones):
            path = folder / f"{self.name}-{index + 1}{self.encoding.suffix}"
            film_of(self.scene, phone, path, self.encoding)
            paths.append(path)
        return paths

    @property
    def truths(self) -> tuple[Truth, ...]:
        """What is true of the film of each phone."""
        return tuple(truth_of(self.scene, phone, self.by_hand, self.facts) for phone in self.scene.phones)


def ordinary_scene(seed: int, length_s: float = 9.0) -> Case:
    """A rehearsal as most are: 2 to 3.2 m, tags of 8 to 11 cm, 720 or 1080 lines, 30 or 60 frames a second."""
    rng = np.random.default_rng((seed, 5))
    handling = _ordinary_handling(rng, seed)
    size = FULL if rng.random() < 0.6 else SMALL
    rate_hz = float(rng.choice([30.0, 30.0, 60.0]))
    times_s = frame_times(rate_hz, length_s, rng, float(rng.choice([0.0, 0.0005, 0.002])))
    towards_deg = 25.0 if handling.roll_deg >= 0 else TURNED_AWAY_DEG - 25.0
    place = stand(rng.uniform(2.0, 3.2), rng.uniform(1.1, 1.7), towards_deg + rng.uniform(-35, 35), rng.uniform(-3, 3))
    if rng.random() < 0.4:
        place = held(place, length_s, rng)
    phone = phone_on(place, size, times_s, rng, float(rng.choice([1 / 500, 1 / 240, 1 / 120])))
    phone = replace(phone, readout_s=float(rng.uniform(0, 0.012)), noise_sd_ratio=rng.uniform(1, 3.5) / 255)
    rig = boom_and_stalk(rng.uniform(0.08, 0.10), rng.uniform(0.085, 0.11), bool(rng.random() < 0.6))
    scene = Scene(rig, movements(handling, length_s), (phone,), blobs=body_blobs(), seed=seed)
    bits = rng.uniform(0.08, 0.18) * size[0] * size[1] * 30 * np.sqrt(rate_hz / 30)
    encoding = Encoding("hevc" if rng.random() < 0.2 else "h264", bit_rate=int(bits))
    facts = {"lag_s": handling.lag_s, "still_s": handling.still_s, "until_s": handling.until_s}
    return Case(f"ordinary-{seed}", scene, measured_by_hand(rig, rng), encoding, facts, handling)


def _ordinary_handling(rng: np.random.Generator, seed: int) -> Handling:
    head_deg = tuple((rng.uniform(2, 12, 3) * rng.choice([-1, 1], 3)).tolist())
    common = Handling(
        still_s=2.0,
        go_s=rng.uniform(1.4, 2.2),
        hold_s=rng.uniform(0.5, 1.2),
        lag_s=float(rng.choice([0.0, rng.uniform(-0.15, 0.4)])),
        head_deg=(head_deg[0], head_deg[1], head_deg[2]),
        wander_deg=rng.uniform(0.3, 2.0),
        unrest_deg=rng.uniform(0.02, 0.1),
        seed=seed,
    )
    if rng.random() < 0.6:
        return replace(common, roll_deg=rng.uniform(50, 90) * rng.choice([-1, 1]))
    return replace(common, lift_m=rng.uniform(0.1, 0.3), slide_m=rng.uniform(0, 0.3), tilt_deg=rng.uniform(4, 15))


def _usual(
    name: str,
    seed: int,
    rig: Rig | None = None,
    distance_m: float = 2.5,
    size: tuple[int, int] = FULL,
    length_s: float = 6.0,
    rate_hz: float = 30.0,
) -> Case:
    """A roll towards one phone on a stand, nothing hard about it: what the hard cases change."""
    rng = np.random.default_rng((seed, 6))
    handling = Handling(1.5, 1.4, 0.6, roll_deg=70, lag_s=0.12, head_deg=(-8.0, 5.0, 9.0), wander_deg=1.0, seed=seed)
    rig = rig or boom_and_stalk(has_more=True)
    phone = phone_on(stand(distance_m, 1.4, 20), size, frame_times(rate_hz, length_s, rng), rng)
    scene = Scene(rig, movements(handling, length_s), (phone,), blobs=body_blobs(), seed=seed)
    facts = {"lag_s": handling.lag_s, "still_s": handling.still_s, "until_s": handling.until_s}
    encoding = Encoding(bit_rate=USUAL_BIT_RATES[size])
    return Case(name, scene, measured_by_hand(rig, rng), encoding, facts)


def _with_phone(case: Case, **changes: Any) -> Case:
    phones = (replace(case.scene.phones[0], **changes), *case.scene.phones[1:])
    return replace(case, scene=replace(case.scene, phones=phones))


def far_and_small() -> Case:
    """4 m away, tags of 6 cm."""
    return _usual("far-and-small", 1, boom_and_stalk(0.06, 0.06), distance_m=4.0)


def long_exposure() -> Case:
    """A dim hall: 1/50 s, and noise."""
    return _with_phone(_usual("long-exposure", 2), exposure_s=1 / 50, noise_sd_ratio=5 / 255)


def heavy_compression() -> Case:
    """A film sent through a messenger: about half a megabit a second."""
    return replace(_usual("heavy-compression", 3, size=SMALL), encoding=Encoding(bit_rate=500_000))


def hands_over_half() -> Case:
    """Hands over half of the head's tags while the body goes, then a back that passes in front."""
    case = _usual("hands-over-half", 4)
    hands = (
        *hand_on("head", (0.27, 0.08, 0.08), 1.3, 3.0),
        *hand_on("head", (0.27, -0.04, -0.1), 1.6, 2.5),
        passing(4.7, 0.9, (-0.6, -1.0, 0.6), (1.2, -1.0, 0.6), (0.28, 0.2, 0.6)),
    )
    return replace(case, scene=replace(case.scene, blobs=(*case.scene.blobs, *hands)))


def rolling_shutter() -> Case:
    """A sensor that needs 16 ms from its first row to its last, in a hand."""
    case = _usual("rolling-shutter", 5)
    phone = case.scene.phones[0]
    place = held(phone.room_from_camera, 6.0, np.random.default_rng(5), 0.015)
    return _with_phone(case, readout_s=0.016, room_from_camera=place)


def focal_change() -> Case:
    """The phone goes in by 8 % while it films."""
    return _with_phone(_usual("focal-change", 6), zoom=Zoom(2.6, 0.4, 1.08))


def slipped_plate() -> Case:
    """One plate of the boom is knocked: 12 mm and 8 degrees."""
    case = _usual("slipped-plate", 7)
    slip = Slip(2.4, np.array([0.012, -0.004, 0.0]), np.radians([3.0, 0.0, 8.0]))
    return replace(case, scene=replace(case.scene, slips={5: slip}), facts={**case.facts, "slipped": [5]})


def single_tags() -> Case:
    """One tag on each segment."""
    rig = boom_and_stalk(0.10, 0.10)
    one = rig.without({tag.id for tag in rig.tags} - {5, 25})
    return _usual("single-tags", 8, one)


def mirrored() -> Case:
    """A film of a front camera, left and right exchanged."""
    return _with_phone(_usual("mirrored", 9), is_mirrored=True)


def wrong_family() -> Case:
    """Tags printed from another family than the rig says."""
    case = _usual("wrong-family", 10, length_s=2.0)
    rig = replace(case.scene.rig, family="tag25h9")
    return replace(case, scene=replace(case.scene, rig=rig))


def two_with_one_id() -> Case:
    """One sheet printed twice: tag 0 sits on the boom and on the stalk, and both face the phone while the body goes."""
    case = _usual("two-with-one-id", 11)
    every = case.scene.rig.tags
    rig = replace(case.scene.rig, tags=tuple(replace(tag, id=0) if tag.id == DOUBLED else tag for tag in every))
    return replace(case, scene=replace(case.scene, rig=rig), by_hand=case.by_hand.without({DOUBLED}))


def portrait() -> Case:
    """A phone held upright; the film carries a flag to turn it."""
    return _with_phone(_usual("portrait", 12), turned_deg=-90, room_from_camera=stand(3.0, 1.4, 20, 90))


def variable_rate() -> Case:
    """A frame rate that falls when the light does: 60, then 24, then 40 frames a second, each with jitter."""
    case = _usual("variable-rate", 13, size=SMALL)
    rng = np.random.default_rng(13)
    parts = [frame_times(rate, 2.0, rng, 0.003, start) for rate, start in ((60.0, 0.01), (24.0, 2.02), (40.0, 4.03))]
    return _with_phone(case, frame_s=np.concatenate(parts))


def two_phones() -> Case:
    """Two phones on opposite sides, started 0.7 s apart, one clock 40 ppm fast; a flash and a clap at 1.0 s."""
    case = _usual("two-phones", 14)
    rng = np.random.default_rng(14)
    times_s = frame_times(30.0, 5.0, rng, 0.001, 0.713)
    other = phone_on(stand(2.7, 1.3, TURNED_AWAY_DEG - 15), SMALL, times_s, rng)
    phones = (case.scene.phones[0], replace(other, clock_rate_ppm=40.0, readout_s=0.008))
    scene = replace(case.scene, phones=phones, flashes=(Flash(1.0, 0.02),), claps_s=(1.0,))
    return replace(
        case,
        scene=scene,
        encoding=replace(case.encoding, has_sound=True),
        facts={**case.facts, "starts_apart_s": _apart_s(phones)},
    )


def _apart_s(phones: tuple[Phone, ...]) -> float:
    return float(phones[1].frame_s[0] - phones[0].frame_s[0])


HARD_CASES: Mapping[str, Callable[[], Case]] = {
    "far-and-small": far_and_small,
    "long-exposure": long_exposure,
    "heavy-compression": heavy_compression,
    "hands-over-half": hands_over_half,
    "rolling-shutter": rolling_shutter,
    "focal-change": focal_change,
    "slipped-plate": slipped_plate,
    "single-tags": single_tags,
    "mirrored": mirrored,
    "wrong-family": wrong_family,
    "two-with-one-id": two_with_one_id,
    "portrait": portrait,
    "variable-rate": variable_rate,
    "two-phones": two_phones,
}
