"""Tables of rehearsals: runs and what was recorded of them. Part of ``models``, which is where to import them from."""

from django.db import models

from onthree.programme import people, places, rehearsals
from onthree.store import columns
from onthree.techniques.state import ALIGNMENTS, POSITIONS, SURFACES


class Run(columns.RecordRow):
    """One run of a rehearsal."""

    day = models.DateField()
    start = models.TimeField(null=True, blank=True)
    is_hold = columns.yes_no()
    venue = columns.reference("store.Venue", null=True, blank=True)
    place = columns.reference("store.Place", null=True, blank=True)
    surface = columns.choice(SURFACES)
    condition = columns.choice(places.CONDITIONS_OF_SURFACE)
    position = columns.choice(POSITIONS)
    alignment = columns.choice(ALIGNMENTS)
    equipment = columns.choice(rehearsals.WORN)
    equipment_note = columns.text()
    device = columns.reference("store.Gear", null=True, blank=True)
    vehicle = columns.reference("store.Vehicle", null=True, blank=True)
    agency = columns.reference("store.Agency", null=True, blank=True)
    shift = columns.reference("store.Shift", null=True, blank=True)
    stand_in = columns.choice(rehearsals.STAND_INS)
    stand_in_mass = columns.mass()
    stand_in_age_group = columns.choice(people.AGE_GROUPS)
    permission = columns.yes_no()
    consent = columns.yes_no()
    spotters = columns.yes_no()
    goal = columns.text()
    led_by = columns.reference("store.Responder", null=True, blank=True)
    lasted_s = columns.decimal()
    timed = columns.choice(rehearsals.TIMED)
    head_guess_deg = columns.decimal()
    head_guess_plane = columns.choice(rehearsals.GUESSED_PLANES)
    rung = columns.number()
    rung_note = columns.text()
    set_aside = columns.text()
    note = columns.text()


class RunRole(columns.RecordRow):
    """Who did what in a run."""

    run = columns.reference("store.Run")
    technique = columns.text()
    role = models.TextField()
    responder = columns.reference("store.Responder", null=True, blank=True)
    somebody = columns.text()
    effort = columns.number()


class RunPhase(columns.RecordRow):
    """A stretch of a run in which one technique was done."""

    run = columns.reference("store.Run")
    technique = models.TextField()
    order = models.PositiveSmallIntegerField()
    start_s = models.FloatField()
    end_s = columns.decimal()


class Incident(columns.RecordRow):
    """Something that went otherwise than meant in a run."""

    run = columns.reference("store.Run")
    moment_s = models.FloatField()
    kind = models.CharField(choices=columns.choices(rehearsals.INCIDENT_KINDS))
    technique = columns.text()
    responder = columns.reference("store.Responder", null=True, blank=True)
    note = columns.text()


class Recording(columns.RecordRow):
    """A film or log of a run."""

    run = columns.reference("store.Run")
    file = models.TextField()
    sha256 = columns.text()
    kind = models.CharField(choices=columns.choices(rehearsals.RECORDING_KINDS))
    offset_s = columns.decimal()
    offset_sd_s = columns.decimal()
    neutral_from_s = columns.decimal()
    neutral_to_s = columns.decimal()
    nod_from_s = columns.decimal()
    nod_to_s = columns.decimal()
    turn_from_s = columns.decimal()
    turn_to_s = columns.decimal()
    taken_by = columns.text()
    note = columns.text()


class Measured(columns.RecordRow):
    """One number measured in a phase or a whole run."""

    run = columns.reference("store.Run")
    phase = columns.reference("store.RunPhase", null=True, blank=True)
    quantity = models.TextField()
    value = models.FloatField()
    low = columns.decimal()
    high = columns.decimal()
    moment_s = columns.decimal()
    measured_as = columns.text()
    seen_ratio = columns.decimal()
    recording = columns.reference("store.Recording", null=True, blank=True)
    program = columns.text()
