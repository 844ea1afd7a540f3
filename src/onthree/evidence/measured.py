"""What a source measured: on which subjects, which quantity, by which metric; and what that is not."""

from dataclasses import field
from typing import Literal, get_args

from pydantic import ConfigDict
from pydantic.dataclasses import dataclass

Plane = Literal["flexion", "lateral", "axial"]
PLANES: tuple[Plane, ...] = get_args(Plane)
PLANE_WORDS = {"flexion": "flexion or extension", "lateral": "lateral bending", "axial": "axial rotation"}

Worn = Literal["on", "off", "any", "not_reported"]
Metric = Literal["range", "peak", "rms", "travel", "other", "not_reported"]
Subjects = Literal["volunteers", "cadavers", "manikins", "not_reported"]
Quantity = Literal[
    "segment",
    "head-trunk",
    "helmet-trunk",
    "head-helmet",
    "head",
    "radiograph",
    "body-surface",
    "pressure",
    "transmission",
    "outcome",
    "time",
    "not_reported",
]

METRIC_WORDS = {
    "range": "range",
    "peak": "peak",
    "rms": "root mean square from the start",
    "travel": "total excursion",
    "other": "metric of its own",
    "not_reported": "metric not reported",
}
QUANTITY_WORDS = {
    "segment": "one segment of the neck across an injury",
    "head-trunk": "head on trunk",
    "helmet-trunk": "helmet on trunk",
    "head-helmet": "head in the helmet",
    "head": "the head, against what is not reported",
    "radiograph": "alignment of vertebrae in an image",
    "body-surface": "the body on its support",
    "pressure": "pressure under the body",
    "transmission": "vibration passed on to head or chest",
    "outcome": "success of an attempt",
    "time": "time",
    "not_reported": "what moved is not reported",
}
_QUANTITY_IS_NOT = {
    "segment": "Motion of one segment across an injury: not head on trunk.",
    "helmet-trunk": "Measured on the helmet: not the head.",
    "head-helmet": "Head in the helmet: not head on trunk.",
    "head": "Head motion, against what is not reported: perhaps not head on trunk.",
    "radiograph": "Vertebrae in an image: not head on trunk.",
    "body-surface": "The body on its support: not head on trunk.",
    "not_reported": "What moved is not reported: perhaps not head on trunk.",
}
_SUBJECTS_ARE_NOT = {
    "volunteers": "Awake volunteers; a limp neck may move more.",
    "cadavers": "Cadavers, often of great age: not an athlete in equipment.",
    "manikins": "A manikin: not a neck.",
    "not_reported": "On whom it was measured was not reported.",
}
STRICT = ConfigDict(extra="forbid")


@dataclass(frozen=True, config=STRICT, kw_only=True)
class Measured:
    """How and on whom something was measured, and its address: source key, place in it, read there or from memory."""

    measured_quantity: Quantity
    metric: Metric
    equipment: Worn
    people: str = field(metadata={"help": "who handled, how many"})
    stance: str
    subjects: Subjects
    n: int | None = None
    counted: str = field(default="", metadata={"help": "what n counts"})
    printed: str = ""
    source: str
    where: str
    read: bool = True

    @property
    def sample(self) -> str:
        """Who was measured, as one would say it: ``5 cadavers``."""
        counted = self.counted or self.subjects.replace("not_reported", "subjects not reported")
        return f"{self.n} {counted}" if self.n is not None else counted


def what_it_is_not(measured: Measured) -> tuple[str, ...]:
    """The cautions that stand wherever the value or contrast stands."""
    quantity = _QUANTITY_IS_NOT.get(measured.measured_quantity)
    moves = measured.measured_quantity not in ("time", "outcome", "pressure")
    subjects = _SUBJECTS_ARE_NOT[measured.subjects] if moves else None
    memory = None if measured.read else "From memory, not checked."
    return tuple(caution for caution in (subjects, quantity, memory) if caution)
