"""What was rehearsed: runs, who did what in them, phases, incidents, recordings, and what was measured.

Times count in seconds of the run clock, which is 0 where the run began. Nothing is deleted: a run that should not count
is set aside with a reason, and stays.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, time

from onthree.programme.fields import CODE_HELP, Kind, Number, described
from onthree.programme.people import AGE_GROUPS
from onthree.programme.places import CONDITIONS_OF_SURFACE
from onthree.techniques.state import ALIGNMENTS, POSITIONS, SURFACES
from onthree.units import Mass

WORN = ("helmet and pads", "helmet only", "pads only", "neither")
STAND_INS = ("dummy", "volunteer")
GUESSED_PLANES = ("flexion or extension", "lateral bending", "axial rotation", "total")
TIMED = ("live", "from film")
ROLES_OF_THEIR_OWN = ("leader", "spotter", "stand-in", "films")
"""Roles in a run that belong to no technique."""
INCIDENT_KINDS = (
    "caught on equipment",
    "caught on turf",
    "latch would not close",
    "re-grip",
    "stop called",
    "hold lost",
    "command missed",
)
STRETCHES = ("neutral", "nod", "turn")
"""What is marked on a film besides phases: the head still in neutral, and a nod and a turn of the head alone."""
RECORDING_KINDS = ("film", "film with tags", "sensor log", "motion capture")
START_LAG = "start_lag_first_turn_s"
START_LAG_LATER = "start_lag_later_turn_s"
"""Quantities beside those of ``kinematics.measures.NAMES``: how much later the head began than the body, by the first
degree of turn, or centimetre of shift, of each; and by a later size."""
START_LAG_MODELLED = "start_lag_s"
"""As earlier versions reckoned it, by a modelled start: kept where it stands, never shown or told as the start lag."""
TOLD_BY = "told by the "
"""Before the size a lag was told by, last in what it was measured as: by turn and by shift are not compared."""
LAGS = (START_LAG, START_LAG_LATER, START_LAG_MODELLED)

_LONGEST_S = "36000"
_A_DAY_S = "86400"


def _moment_s(header: str, help: str, example: str, *, required: bool = False) -> float | None:
    moment_s: float | None = described(
        header, Kind.NUMBER, help, example=example, required=required, lowest="0", highest=_LONGEST_S
    )
    return moment_s


@dataclass(frozen=True, kw_only=True)
class Run:
    """One run of a rehearsal, with a dummy or a volunteer; never with a patient."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="RUN-1", required=True)
    day: date = described("Date", Kind.DATE, "Day of the run.", example="2026-11-24", required=True)
    start: time | None = described("Start", Kind.CLOCK, "Local time at which it began.", example="18:40")
    is_hold: bool | None = described(
        "Do-nothing hold",
        Kind.YES_NO,
        "yes: the head was held and nobody moved, to see what measuring alone adds.",
        example="no",
    )
    venue: str | None = described("Venue", Kind.REFERENCE, "Code of the venue.", example="V-1", refers_to="Venue")
    place: str | None = described("Place", Kind.REFERENCE, "Code of the place.", example="P-1", refers_to="Place")
    surface: str | None = described("Surface", Kind.CHOICE, "Under the athlete.", example="turf", choices=SURFACES)
    condition: str | None = described(
        "Condition", Kind.CHOICE, "State of the surface.", example="dry", choices=CONDITIONS_OF_SURFACE
    )
    position: str | None = described("Found", Kind.CHOICE, "Position at the start.", example="prone", choices=POSITIONS)
    alignment: str | None = described(
        "Head found", Kind.CHOICE, "Alignment of the head at the start.", example="neutral", choices=ALIGNMENTS
    )
    equipment: str | None = described(
        "Equipment worn", Kind.CHOICE, "At the start.", example="helmet and pads", choices=WORN
    )
    equipment_note: str = described(
        "Equipment in words", Kind.TEXT, "In your own words, without makers' names.", example="round-screw model"
    )
    device: str | None = described(
        "Device", Kind.REFERENCE, "Code of the carrying device.", example="G-1", refers_to="Gear"
    )
    vehicle: str | None = described(
        "Vehicle", Kind.REFERENCE, "Code of the vehicle whose cot was used.", example="AMB-1", refers_to="Vehicle"
    )
    agency: str | None = described(
        "Agency", Kind.REFERENCE, "Code of the agency whose crew took part.", example="AG-1", refers_to="Agency"
    )
    shift: str | None = described(
        "Shift", Kind.REFERENCE, "Code of the shift that was there.", example="SH-1", refers_to="Shift"
    )
    stand_in: str | None = described(
        "Stand-in", Kind.CHOICE, "Who lay there: the dummy first. Never a patient.", example="dummy", choices=STAND_INS
    )
    stand_in_mass: Mass | None = described(
        "Stand-in mass", Kind.MASS, "With equipment.", example="180 lb", lowest="5 kg", highest="290 kg"
    )
    stand_in_age_group: str | None = described(
        "Stand-in age", Kind.CHOICE, "Of a volunteer, in years.", example="adult", choices=AGE_GROUPS
    )
    permission: bool | None = described(
        "Permission recorded",
        Kind.YES_NO,
        "Of a parent or guardian, on paper, where the volunteer is under age.",
        example="no",
    )
    consent: bool | None = described("Consent recorded", Kind.YES_NO, "Of everybody in the run.", example="yes")
    spotters: bool | None = described("Spotters", Kind.YES_NO, "yes where spotters were placed.", example="yes")
    goal: str = described("Goal", Kind.TEXT, "Where it was to end.", example="on the long board and strapped")
    led_by: str | None = described(
        "Led by", Kind.REFERENCE, "Code of the responder who led.", example="R-1", refers_to="Responder"
    )
    lasted_s: float | None = _moment_s("Lasted (s)", "The whole run. Blank: not timed.", "92.4")
    timed: str | None = described("Times taken", Kind.CHOICE, "How.", example="live", choices=TIMED)
    head_guess_deg: float | None = described(
        "Head holder's guess (deg)",
        Kind.NUMBER,
        "How far the head moved on the trunk, as the head holder felt it, asked before anything is shown.",
        example="5",
        lowest="0",
        highest="180",
    )
    head_guess_plane: str | None = described(
        "Guess in", Kind.CHOICE, "In which way.", example="lateral bending", choices=GUESSED_PLANES
    )
    rung: int | None = described(
        "Rung",
        Kind.INTEGER,
        "What the films are worth, 0 to 3; written when they are measured. Blank: told from the recordings.",
        example="1",
        lowest="0",
        highest="3",
    )
    rung_note: str = described(
        "What was filmed", Kind.TEXT, "Anything about the films worth knowing.", example="rain on the lens"
    )
    set_aside: str = described(
        "Set aside", Kind.TEXT, "Why the run does not count. Blank: it counts.", example="tripod kicked over"
    )
    note: str = described("Note", Kind.TEXT, "Facts only.", example="second try with new hands")


def _run() -> str:
    run: str = described("Run", Kind.REFERENCE, "Code of the run.", example="RUN-1", required=True, refers_to="Run")
    return run


def _technique(help: str, *, required: bool = False) -> str:
    technique: str = described("Technique", Kind.TEXT, help, example="log_roll_push_long_board", required=required)
    return technique


@dataclass(frozen=True, kw_only=True)
class RunRole:
    """Who did what in a run."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="RR-1", required=True)
    run: str = _run()
    technique: str = _technique("Identifier of the technique. Blank: the whole run.")
    role: str = described(
        "Role",
        Kind.TEXT,
        f"A role of the technique, such as head; or {', '.join(ROLES_OF_THEIR_OWN)}.",
        example="head",
        required=True,
    )
    responder: str | None = described(
        "Responder", Kind.REFERENCE, "Code of the responder.", example="R-1", refers_to="Responder"
    )
    somebody: str = described(
        "Somebody else", Kind.TEXT, "Who has no code, as a role.", example="second of the ambulance crew"
    )
    effort: int | None = described(
        "Effort",
        Kind.INTEGER,
        "How hard it was for them: 0 nothing at all, 10 the hardest they know.",
        example="4",
        lowest="0",
        highest="10",
    )


@dataclass(frozen=True, kw_only=True)
class RunPhase:
    """A stretch of a run in which one technique was done."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="PH-1", required=True)
    run: str = _run()
    technique: str = _technique("Identifier of the technique.", required=True)
    order: int = described(
        "Order", Kind.INTEGER, "Place in the run, from 1.", example="1", required=True, lowest="1", highest="99"
    )
    start_s: float = _moment_s("Start (s)", "On the run clock.", "12.35", required=True)  # type: ignore[assignment]
    end_s: float | None = _moment_s("End (s)", "On the run clock. Blank: not done yet.", "20.1")


@dataclass(frozen=True, kw_only=True)
class Incident:
    """Something that went otherwise than meant in a run, and when."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="IN-1", required=True)
    run: str = _run()
    moment_s: float = _moment_s("Moment (s)", "On the run clock.", "14.2", required=True)  # type: ignore[assignment]
    kind: str = described(
        "Kind", Kind.CHOICE, "What happened.", example="re-grip", required=True, choices=INCIDENT_KINDS
    )
    technique: str = _technique("Identifier of the technique. Blank: the phase of that moment.")
    responder: str | None = described(
        "Responder", Kind.REFERENCE, "Code of whom it concerns.", example="R-2", refers_to="Responder"
    )
    note: str = described("Note", Kind.TEXT, "Facts only.", example="right hand slid off the pad")


def _on_film_s(header: str, help: str, example: str) -> float | None:
    return _moment_s(header, f"{help} Seconds from the first frame. Blank: not marked.", example)


@dataclass(frozen=True, kw_only=True)
class Recording:
    """A film or log of a run, and where its clock stands on the run clock."""

    code: str = described("Code", Kind.CODE, CODE_HELP, example="REC-1", required=True)
    run: str = _run()
    file: str = described(
        "File", Kind.TEXT, "Name of the file, with its folder if you like.", example="run-1-left.mp4", required=True
    )
    sha256: str = described(
        "Checksum",
        Kind.TEXT,
        "SHA-256 of the file; written when it is attached.",
        example="9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08",
    )
    kind: str = described(
        "Kind", Kind.CHOICE, "What it is.", example="film with tags", required=True, choices=RECORDING_KINDS
    )
    offset_s: float | None = described(
        "Begins at (s)",
        Kind.NUMBER,
        "Where on the run clock the recording begins; below 0: before the run. Blank: not known.",
        example="-2.5",
        lowest=f"-{_A_DAY_S}",
        highest=_A_DAY_S,
    )
    offset_sd_s: float | None = described(
        "Give or take (s)",
        Kind.NUMBER,
        "Standard deviation of that. Blank: not known.",
        example="0.05",
        lowest="0",
        highest=_A_DAY_S,
    )
    neutral_from_s: float | None = _on_film_s(
        "Neutral from (s)", "Head still in neutral: all angles count from it.", "0.5"
    )
    neutral_to_s: float | None = _on_film_s("Neutral to (s)", "Where that ends.", "2")
    nod_from_s: float | None = _on_film_s("Nod from (s)", "The head alone nods; it shows the axes with a turn.", "3")
    nod_to_s: float | None = _on_film_s("Nod to (s)", "Where that ends.", "6.5")
    turn_from_s: float | None = _on_film_s("Turn from (s)", "The head alone turns; it shows the axes with a nod.", "7")
    turn_to_s: float | None = _on_film_s("Turn to (s)", "Where that ends.", "10")
    taken_by: str = described("Phone", Kind.TEXT, "Which phone or sensor, on which side.", example="phone A, left")
    note: str = described("Note", Kind.TEXT, "In your own words.", example="from the left knee on only")

    @property
    def marked_s(self) -> Mapping[str, tuple[float, float]]:
        """The stretches marked on the film, by kind: from and to [s from its first frame]."""
        ends_s = {kind: (getattr(self, f"{kind}_from_s"), getattr(self, f"{kind}_to_s")) for kind in STRETCHES}
        return {kind: each for kind, each in ends_s.items() if None not in each}


def _value(header: str, help: str, example: str, *, required: bool = False) -> Number | None:
    value: Number | None = described(
        header, Kind.NUMBER, help, example=example, required=required, lowest="-100000", highest="100000"
    )
    return value


@dataclass(frozen=True, kw_only=True)
class Measured:
    """One number measured in a phase or a whole run, with its 95 % band; written by the program, rarely by hand.

    Its unit is the last part of the quantity's name.
    """

    code: str = described("Code", Kind.CODE, CODE_HELP, example="ME-1", required=True)
    run: str = _run()
    phase: str | None = described(
        "Phase", Kind.REFERENCE, "Code of the phase. Blank: the whole run.", example="PH-1", refers_to="RunPhase"
    )
    quantity: str = described(
        "Quantity", Kind.TEXT, "Identifier of a quantity, its unit last.", example=START_LAG, required=True
    )
    value: Number = _value("Value", "In the unit of the quantity.", "0.18", required=True)  # type: ignore[assignment]
    low: Number | None = _value("Low", "Lower end of the 95 % band. Blank: not known.", "0.15")
    high: Number | None = _value("High", "Upper end of the 95 % band. Blank: not known.", "0.21")
    moment_s: float | None = _moment_s("Moment (s)", "When, on the run clock. Blank: no one moment.", "13.05")
    measured_as: str = described("Measured as", Kind.TEXT, "On what the tags or sensors sat.", example="helmet on pads")
    seen_ratio: float | None = described(
        "Seen (share)",
        Kind.NUMBER,
        "Share of the time in which both segments were seen.",
        example="0.94",
        lowest="0",
        highest="1",
    )
    recording: str | None = described(
        "Recording", Kind.REFERENCE, "Code of the recording.", example="REC-1", refers_to="Recording"
    )
    program: str = described("Program", Kind.TEXT, "Version that measured.", example="0.1.0")

    @property
    def unit(self) -> str:
        """The unit, as the end of the quantity's name says it."""
        return next(words for end, words in _UNITS.items() if self.quantity.endswith(end))


_UNITS = {"_deg_s": "degrees/s", "_deg": "degrees", "_s": "s", "_m": "m", "": ""}
