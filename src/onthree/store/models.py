"""Tables of the store: one per kind of record, one per kind of presence at an event, and the history of each.

Every table says whose it is (``organisation_id``). A code is unique within an organisation and a kind. Rows refer to
each other by real foreign keys and nothing referred to can be deleted. None is "not known", never a default.
"""

from typing import Any

from django.db import models
from simple_history.models import HistoricalRecords

from onthree.programme import equipment, events, people, places
from onthree.store.fields import LengthField, MassField
from onthree.techniques.state import GEAR_KINDS, SKILLS, SURFACES, WAYS


def _choices(words: tuple[str, ...]) -> list[tuple[str, str]]:
    return [(word, word) for word in words]


def _history(**options: Any) -> HistoricalRecords:
    return HistoricalRecords(history_change_reason_field=models.TextField(null=True), **options)


def _reference(to: str, **options: Any) -> Any:
    return models.ForeignKey(to, on_delete=models.PROTECT, related_name="+", **options)


def _text() -> Any:
    return models.TextField(blank=True, default="")


def _choice(words: tuple[str, ...]) -> Any:
    return models.CharField(null=True, blank=True, choices=_choices(words))


def _yes_no() -> Any:
    return models.BooleanField(null=True, blank=True)


def _number() -> Any:
    return models.PositiveSmallIntegerField(null=True, blank=True)


def _date() -> Any:
    return models.DateField(null=True, blank=True)


def _mass() -> Any:
    return MassField(null=True, blank=True)


def _length() -> Any:
    return LengthField(null=True, blank=True)


class Organisation(models.Model):
    """Who runs a programme; owns every row of the other tables."""

    code = models.CharField(unique=True)
    name = models.TextField()
    medical_direction = models.TextField(blank=True, default="")
    administration = models.TextField(blank=True, default="")
    plan_version = _text()
    is_invented = models.BooleanField(null=True, blank=True)
    history = _history()


class OwnedRow(models.Model):
    """A row that belongs to an organisation."""

    organisation = _reference("store.Organisation")
    history = _history(inherit=True)

    class Meta:
        abstract = True


class RecordRow(OwnedRow):
    """A record, known by its code within its organisation."""

    code = models.CharField()

    class Meta:
        abstract = True
        constraints = (models.UniqueConstraint(fields=["organisation", "code"], name="%(class)s_code_once"),)


class Hospital(RecordRow):
    """A hospital that ambulances go to."""

    name = models.TextField()
    capabilities = models.JSONField(blank=True, default=list)
    agreed_on = _date()
    note = _text()


class Venue(RecordRow):
    """A place where teams play or practise."""

    name = models.TextField()
    surface = _choice(SURFACES)
    ambulance_access = _text()
    hospital = _reference("store.Hospital", null=True, blank=True)
    communication = _text()
    backup_communication = _text()
    dead_spots = _text()
    backup_tested_on = _date()
    address = _text()
    details_verified_on = _date()
    plan_posted = _text()
    cot_way = _choice(WAYS)


class Place(RecordRow):
    """A place at a venue, or a way through it."""

    venue = _reference("store.Venue")
    kind = models.CharField(choices=_choices(places.PLACE_KINDS))
    name = models.TextField()
    surface = _choice(SURFACES)
    condition = _choice(places.CONDITIONS_OF_SURFACE)
    reach_s = _number()
    note = _text()


class Gate(RecordRow):
    """A gate or door of a venue."""

    venue = _reference("store.Venue")
    name = models.TextField()
    is_cot_way = _yes_no()
    width = _length()
    key_holder = _text()


class Team(RecordRow):
    """A roster of athletes."""

    name = models.TextField()
    sport = _text()
    equipment_mass = _mass()


class Athlete(RecordRow):
    """One athlete on a roster."""

    team = _reference("store.Team")
    number = _number()
    plays = _text()
    mass = _mass()
    stature = _length()
    equipment_mass = _mass()
    face_mask = _choice(people.FASTENINGS)
    helmet = _text()
    age_group = _choice(people.AGE_GROUPS)
    survey_table = _choice(people.SURVEY_TABLES)
    shoulder_breadth = _length()
    padded_shoulder_breadth = _length()
    trunk_breadth = _length()
    hip_breadth = _length()
    forearm_breadth = _length()


class Responder(RecordRow):
    """Someone of the medical team, or a lay helper."""

    name = models.TextField()
    kind = models.CharField(choices=_choices(people.RESPONDER_KINDS))
    skills = models.JSONField(blank=True, default=list)
    fit_to_lift = _yes_no()
    briefed_for = models.JSONField(blank=True, default=list)
    lifting_limit = _mass()
    stature = _length()


class Qualification(RecordRow):
    """A licence, certificate or course of a responder."""

    responder = _reference("store.Responder")
    name = models.TextField()
    expires_on = _date()


class CheckOff(RecordRow):
    """A skill that a responder showed and somebody checked."""

    responder = _reference("store.Responder")
    skill = models.CharField(choices=_choices(SKILLS))
    done_on = models.DateField()
    by = _text()


class Agency(RecordRow):
    """An ambulance agency."""

    name = models.TextField()
    skills = models.JSONField(blank=True, default=list)
    protocol_edition = _text()
    protocol_on = _date()
    rehearsed_on = _date()
    bariatric_lead_min = _number()
    bariatric_call = _text()


class Shift(RecordRow):
    """A shift of an agency."""

    agency = _reference("store.Agency")
    name = models.TextField()
    rehearsed_on = _date()


class MutualAid(RecordRow):
    """Which agency comes in place of another."""

    agency = _reference("store.Agency")
    replacement = _reference("store.Agency")
    usual_min = _number()


class Gear(RecordRow):
    """One item of gear."""

    kind = models.CharField(choices=_choices(GEAR_KINDS))
    name = models.TextField()
    rated_load = _mass()
    standard = _text()
    own_mass = _mass()
    attached_mass = _mass()
    usable_width = _length()
    usable_length = _length()
    slot_width = _length()
    pairs_of_holds = _number()
    first_hold = _length()
    hold_spacing = _length()
    holds_apart = _length()
    mechanism = _choice(equipment.MECHANISMS)
    fits = models.JSONField(blank=True, default=list)
    fits_items = models.JSONField(blank=True, default=list)
    reaches_over_pads = _yes_no()
    helmets = models.JSONField(blank=True, default=list)
    is_charged = _yes_no()
    has_right_bit = _yes_no()
    place = _reference("store.Venue", null=True, blank=True)
    condition = _choice(equipment.GEAR_CONDITIONS)
    in_service = _yes_no()
    inspected_on = _date()
    inspect_every_days = _number()
    lubricate_every_days = _number()


class Upkeep(RecordRow):
    """Something done to an item, or a use of it."""

    gear = _reference("store.Gear")
    day = models.DateField()
    done = models.CharField(choices=_choices(equipment.UPKEEP))
    by = _text()
    note = _text()


class Vehicle(RecordRow):
    """An ambulance with its cot and crew."""

    agency = _reference("store.Agency")
    name = models.TextField()
    crew = _number()
    is_bariatric = _yes_no()
    cot_rated_load = _mass()
    standard = _text()
    attached_mass = _mass()
    cot_width = _length()
    strap_length = _length()
    retains = models.JSONField(blank=True, default=list)
    loading_rated_load = _mass()
    cot_lifts_itself = _yes_no()
    has_loading_system = _yes_no()
    left_space = _length()
    right_space = _length()
    head_space = _length()


class Event(RecordRow):
    """A game or practice. Who and what is there stands in the tables below."""

    name = models.TextField()
    kind = models.CharField(choices=_choices(events.EVENT_KINDS))
    day = models.DateField()
    start = models.TimeField(null=True, blank=True)
    end = models.TimeField(null=True, blank=True)
    venue = _reference("store.Venue")
    plan_of = _choice(events.PLANS)
    teams = models.ManyToManyField(Team, through="store.EventTeam", related_name="+")
    visitors = _choice(events.VISITORS)
    is_wet = _yes_no()
    responders = models.ManyToManyField(Responder, through="store.EventResponder", related_name="+")
    others = _text()
    gear = models.ManyToManyField(Gear, through="store.EventGear", related_name="+")
    vehicles = models.ManyToManyField(Vehicle, through="store.EventVehicle", related_name="+")
    may_leave = models.ManyToManyField(Vehicle, through="store.EventMayLeave", related_name="+")
    shifts = models.ManyToManyField(Shift, through="store.EventShift", related_name="+")
    pauses_play = _text()
    rides_along = _text()
    tell = _text()


class JerseyNumber(RecordRow):
    """A number that an athlete wears at one event only."""

    event = _reference("store.Event")
    athlete = _reference("store.Athlete")
    number = models.PositiveSmallIntegerField()


class Told(RecordRow):
    """That somebody was told what a rule found, and what they answered."""

    event = _reference("store.Event")
    rule = models.TextField()
    subject = _text()
    who = models.TextField()
    day = models.DateField()
    at = models.TimeField(null=True, blank=True)
    answer = models.CharField(choices=_choices(events.TOLD_ANSWERS))
    note = _text()


class KnownGap(RecordRow):
    """A finding that medical direction or administration knows and signed."""

    rule = models.TextField()
    subject = models.TextField()
    event = _reference("store.Event", null=True, blank=True)
    signed_by = models.CharField(choices=_choices(events.SIGNERS))
    signer = models.TextField()
    reason = models.TextField()
    signed_on = models.DateField()
    until = models.DateField()


class PreAgreement(RecordRow):
    """What an ambulance agency and the programme settled about one technique."""

    agency = _reference("store.Agency")
    shift = _reference("store.Shift", null=True, blank=True)
    technique = models.TextField()
    answer = models.CharField(choices=_choices(events.ANSWERS))
    protocol_edition = _text()
    settled_on = _date()
    valid_until = _date()
    note = _text()


class MedicalOrder(RecordRow):
    """What medical direction signed."""

    about = models.TextField()
    signer = models.TextField()
    signed_on = models.DateField()
    until = _date()
    conditions = _text()


class AtEvent(OwnedRow):
    """Someone or something named by an event; ``place`` is its place in the list, counted from 0."""

    event = _reference("store.Event")
    place = models.PositiveSmallIntegerField()

    class Meta:
        abstract = True
        constraints = (models.UniqueConstraint(fields=["event", "who"], name="%(class)s_once"),)


class PresentAtEvent(AtEvent):
    """Someone or something that is at an event from a minute after the call [min]."""

    from_min = models.PositiveSmallIntegerField(default=0)

    class Meta(AtEvent.Meta):
        abstract = True


class EventTeam(AtEvent):
    """A team that plays at an event."""

    who = _reference("store.Team")


class EventResponder(PresentAtEvent):
    """A responder at an event."""

    who = _reference("store.Responder")


class EventGear(PresentAtEvent):
    """An item of gear brought to an event."""

    who = _reference("store.Gear")


class EventVehicle(PresentAtEvent):
    """A vehicle at an event or on call for it."""

    who = _reference("store.Vehicle")


class EventMayLeave(AtEvent):
    """A stand-by vehicle that may be called away."""

    who = _reference("store.Vehicle")


class EventShift(AtEvent):
    """A shift of an agency on duty at an event."""

    who = _reference("store.Shift")
