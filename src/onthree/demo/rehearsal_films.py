"""The invented rehearsals that ship with the package: short rendered films of one rig, with phases and what is true."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from importlib.resources import files
from pathlib import Path

import numpy as np

from onthree.demo.film_writer import Encoding, film_of, rig_text, truth_of, write_truth
from onthree.demo.scene import Scene
from onthree.demo.staging import (
    Handling,
    body_blobs,
    boom_and_stalk,
    frame_times,
    hand_on,
    measured_by_hand,
    movements,
    phone_on,
    stand,
)
from onthree.kinematics.measures import Phase

LENGTH_S, RATE_HZ, JITTER_S = 8.0, 30.0, 0.0005
SIZE = (1280, 720)
ENCODING = Encoding(bit_rate=1_080_000, preset="slow")
NEUTRAL_S = (0.3, 1.7)
NOISE_SD_RATIO = 0.8 / 255
SEED = 20261125


@dataclass(frozen=True)
class Rehearsal:
    """One film: what the team does in it, the phases a person would mark, and the techniques of some by their name."""

    handling: Handling
    phases: tuple[Phase, ...]
    techniques: Mapping[str, str]


REHEARSALS: Mapping[str, Rehearsal] = {
    "roll-head-late": Rehearsal(
        Handling(2.0, 1.7, 0.7, roll_deg=72, lag_s=0.25, head_deg=(-5.0, 4.0, 6.0), wander_deg=0.8, seed=1),
        (Phase("log roll, to the side", 1.8, 4.3), Phase("log roll, back", 4.3, 6.8)),
        {"log roll, to the side": "log_roll_supine_long_board"},
    ),
    "lift-in-time": Rehearsal(
        Handling(
            2.0, 1.6, 0.8, lift_m=0.16, slide_m=0.3, tilt_deg=5, head_deg=(-3.0, 2.0, 2.0), wander_deg=0.6, seed=2
        ),
        (Phase("lift-and-slide", 1.8, 4.3), Phase("set down", 4.3, 6.6)),
        {"lift-and-slide": "lift_and_slide_long_board"},
    ),
    "hold-still": Rehearsal(Handling(2.0, 1.6, 0.8, unrest_deg=0.08, seed=3), (Phase("hold", 2.0, 7.5),), {}),
}


def rehearsal_folder() -> Path:
    """Where the films lie in the package, each ``<name>.mp4`` with ``.phases.toml``, ``.json``, ``.truth.csv``."""
    return Path(str(files("onthree") / "demo" / "rehearsal"))


def rehearsal_scene(name: str) -> Scene:
    """The scene of a film: a phone on a stand, 2.2 m away, hands at the sides of the helmet."""
    rng = np.random.default_rng((SEED, sorted(REHEARSALS).index(name)))
    phone = phone_on(stand(2.2, 1.3, 15), SIZE, frame_times(RATE_HZ, LENGTH_S, rng, JITTER_S), rng)
    hands = hand_on("head", (0.02, 0.04, 0.15), 0.0, LENGTH_S)
    return Scene(
        boom_and_stalk(0.09, 0.09),
        movements(REHEARSALS[name].handling, LENGTH_S),
        (replace(phone, noise_sd_ratio=NOISE_SD_RATIO),),
        blobs=(*body_blobs(), *hands),
        seed=SEED,
    )


def write_rehearsal_films(folder: Path) -> list[Path]:
    """Render all films into a folder, each with its phases and its truth, and the rig they share."""
    by_hand = measured_by_hand(boom_and_stalk(0.09, 0.09), np.random.default_rng(SEED))
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "rig.toml").write_text("# Invented.\n" + rig_text(by_hand), encoding="utf-8")
    written = []
    for name, rehearsal in REHEARSALS.items():
        scene, film = rehearsal_scene(name), folder / f"{name}.mp4"
        film_of(scene, scene.phones[0], film, ENCODING)
        facts = {"lag_s": rehearsal.handling.lag_s, "neutral_s": list(NEUTRAL_S)}
        write_truth(film, truth_of(scene, scene.phones[0], by_hand, facts), scene.phones[0])
        film.with_suffix(".phases.toml").write_text(_phases_text(rehearsal), encoding="utf-8")
        written.append(film)
    return written


def _phases_text(rehearsal: Rehearsal) -> str:
    lines = ["# Invented.", f"neutral = [{NEUTRAL_S[0]}, {NEUTRAL_S[1]}]"]
    for phase in rehearsal.phases:
        lines += ["", "[[phase]]", f'name = "{phase.name}"']
        if phase.name in rehearsal.techniques:
            lines.append(f'technique = "{rehearsal.techniques[phase.name]}"')
        lines += [f"start = {phase.start_s}", f"end = {phase.end_s}"]
    return "\n".join(lines) + "\n"
