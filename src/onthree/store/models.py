"""Tables of the store: one per kind of record, one per kind of presence at an event, and the history of each.

Every table says whose it is (``organisation_id``). A code is unique within an organisation and a kind. Rows refer to
each other by real foreign keys and nothing referred to can be deleted. None is "not known", never a default.
"""

from typing import Any

from django.db import models
from simple_history.models import HistoricalRecords

from onthree.programme import records
from onthree.store.fields import LengthField, MassField
from onthree.techniques.state import GEAR_KINDS, SURFACES


def _choices(words: tuple[str, ...]) -> list[tuple[str, str]]:
    return [(word, word) for word in words]


def _history(**options: Any) -> HistoricalRecords:
    return HistoricalRecords(history_change_reason_field=models.TextField(null=True), **options)


def _reference(to: str, **options: Any) -> Any:
    return models.ForeignKey(to, on_delete=models.PROTECT, related_name="+", **options)


class Organisation(models.Model):
    """Who runs a programme; owns every row of the other tables."""

    code = models.CharField(unique=True)
    name = models.TextField()
    medical_direction = models.TextField(blank=True, default="")
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


class Venue(RecordRow):
    """A place where teams play or practise."""

    name = models.TextField()
    surface = models.CharField(null=True, blank=True, choices=_choices(SURFACES))
    ambulance_access = models.TextField(blank=True, default="")
    hospital = models.TextField(blank=True, default="")


class Team(RecordRow):
    """A roster of athletes."""

    name = models.TextField()
    sport = models.TextField(blank=True, default="")
    equipment_mass = MassField(null=True, blank=True)


class Athlete(RecordRow):
    """One athlete on a roster."""

    team = _reference("store.Team")
    number = models.PositiveSmallIntegerField(null=True, blank=True)
    plays = models.TextField(blank=True, default="")
    mass = MassField(null=True, blank=True)
    stature = LengthField(null=True, blank=True)
    equipment_mass = MassField(null=True, blank=True)
    face_mask = models.CharField(null=True, blank=True, choices=_choices(records.FASTENINGS))


class Responder(RecordRow):
    """Someone of the medical team, or a lay helper."""

    name = models.TextField()
    kind = models.CharField(choices=_choices(records.RESPONDER_KINDS))
    skills = models.JSONField(blank=True, default=list)
    fit_to_lift = models.BooleanField(null=True, blank=True)


class Agency(RecordRow):
    """An ambulance agency."""

    name = models.TextField()
    skills = models.JSONField(blank=True, default=list)
    protocol_edition = models.TextField(blank=True, default="")
    rehearsed_on = models.DateField(null=True, blank=True)


class Gear(RecordRow):
    """One item of gear."""

    kind = models.CharField(choices=_choices(GEAR_KINDS))
    name = models.TextField()
    rated_load = MassField(null=True, blank=True)
    own_mass = MassField(null=True, blank=True)
    fits = models.JSONField(blank=True, default=list)
    place = _reference("store.Venue", null=True, blank=True)
    in_service = models.BooleanField(null=True, blank=True)
    inspected_on = models.DateField(null=True, blank=True)
    inspect_every_days = models.PositiveSmallIntegerField(null=True, blank=True)


class Vehicle(RecordRow):
    """An ambulance with its cot and crew."""

    agency = _reference("store.Agency")
    name = models.TextField()
    crew = models.PositiveSmallIntegerField(null=True, blank=True)
    cot_rated_load = MassField(null=True, blank=True)
    loading_rated_load = MassField(null=True, blank=True)
    has_loading_system = models.BooleanField(null=True, blank=True)


class Event(RecordRow):
    """A game or practice. Who and what is there stands in the tables below."""

    name = models.TextField()
    kind = models.CharField(choices=_choices(records.EVENT_KINDS))
    day = models.DateField()
    start = models.TimeField(null=True, blank=True)
    venue = _reference("store.Venue")
    teams = models.ManyToManyField(Team, through="store.EventTeam", related_name="+")
    visitors = models.CharField(null=True, blank=True, choices=_choices(records.VISITORS))
    responders = models.ManyToManyField(Responder, through="store.EventResponder", related_name="+")
    gear = models.ManyToManyField(Gear, through="store.EventGear", related_name="+")
    vehicles = models.ManyToManyField(Vehicle, through="store.EventVehicle", related_name="+")
    tell = models.TextField(blank=True, default="")


class PreAgreement(RecordRow):
    """What an ambulance agency and the programme settled about one technique."""

    agency = _reference("store.Agency")
    technique = models.TextField()
    answer = models.CharField(choices=_choices(records.ANSWERS))
    settled_on = models.DateField(null=True, blank=True)
    valid_until = models.DateField(null=True, blank=True)
    note = models.TextField(blank=True, default="")


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
