"""A short rendered film of a roll, small and quick to make, with what is true of it."""

from dataclasses import replace
from pathlib import Path

import numpy as np

from onthree.demo.film_writer import Encoding, Truth, film_of, rig_text, truth_of
from onthree.demo.scene import Scene
from onthree.demo.staging import Handling, boom_and_stalk, frame_times, measured_by_hand, movements, phone_on, stand

WIDTH, HEIGHT = 480, 360
STILL_S, GO_S, LENGTH_S, LAG_S = 0.8, 0.8, 2.0, 0.12


def write_roll(
    folder: Path,
    name: str = "roll.mp4",
    seed: int = 3,
    turned_deg: int = 0,
    twice: tuple[int, int] | None = None,
) -> Truth:
    """Write a film of a roll and the rig of it, ``rig.toml``, as a person measured it.

    ``turned_deg`` is the flag that says how far a player turns it counter-clockwise; ``twice`` names a tag and another
    one in whose place the sheet of the first was put.
    """
    rng = np.random.default_rng(seed)
    handling = Handling(STILL_S, GO_S, 0.4, roll_deg=50, lag_s=LAG_S, head_deg=(-8.0, 5.0, 9.0), seed=seed)
    rig = boom_and_stalk()
    phone = phone_on(stand(1.0, 0.6, 20), (WIDTH, HEIGHT), frame_times(30.0, LENGTH_S, rng), rng)
    phone = replace(phone, turned_deg=turned_deg)
    filmed = rig
    if twice is not None:
        filmed = replace(rig, tags=tuple(replace(tag, id=twice[0]) if tag.id == twice[1] else tag for tag in rig.tags))
    scene = Scene(filmed, movements(handling, LENGTH_S), (phone,), seed=seed)
    by_hand = measured_by_hand(rig, rng)
    film_of(scene, phone, folder / name, Encoding(crf=16, preset="ultrafast"))
    (folder / "rig.toml").write_text(rig_text(by_hand), encoding="utf-8")
    return truth_of(scene, phone, by_hand, {"lag_s": LAG_S})
