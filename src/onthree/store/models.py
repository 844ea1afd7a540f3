"""Tables of the store: one per kind of record, one per kind of presence at an event, and the history of each.

Every table says whose it is (``organisation_id``). A code is unique within an organisation and a kind. Rows refer to
each other by real foreign keys and nothing referred to can be deleted. None is "not known", never a default.
"""

from django.db import models

from onthree.programme import equipment, events, people, places
from onthree.store import columns
from onthree.store.account_models import Account as Account
from onthree.store.account_models import ApiToken as ApiToken
from onthree.store.account_models import FailedLogin as FailedLogin
from onthree.store.account_models import Received as Received
from onthree.store.fields import WordsField
from onthree.store.film_models import FilmUpload as FilmUpload
from onthree.store.film_models import MeasureJob as MeasureJob
from onthree.store.film_models import RigFile as RigFile
from onthree.store.rehearsal_models import Incident as Incident
from onthree.store.rehearsal_models import Measured as Measured
from onthree.store.rehearsal_models import Recording as Recording
from onthree.store.rehearsal_models import Run as Run
from onthree.store.rehearsal_models import RunPhase as RunPhase
from onthree.store.rehearsal_models import RunRole as RunRole
from onthree.store.time_out_models import TimeOutAnswer as TimeOutAnswer
from onthree.store.time_out_models import VisitorAnswer as VisitorAnswer
from onthree.techniques.state import GEAR_KINDS, SKILLS, SURFACES, WAYS


class Organisation(models.Model):
    """Who runs a programme; owns every row of the other tables."""

    code = models.CharField(unique=True)
    name = models.TextField()
    medical_direction = models.TextField(blank=True, default="")
    administration = models.TextField(blank=True, default="")
    plan_version = columns.text()
    preference = WordsField(blank=True, default=list)
    is_invented = models.BooleanField(null=True, blank=True)
    history = columns.kept_history()


class Hospital(columns.RecordRow):
    """A hospital that ambulances go to."""

    name = models.TextField()
    capabilities = WordsField(blank=True, default=list)
    agreed_on = columns.date()
    note = columns.text()


class Venue(columns.RecordRow):
    """A place where teams play or practise."""

    name = models.TextField()
    surface = columns.choice(SURFACES)
    ambulance_access = columns.text()
    hospital = columns.reference("store.Hospital", null=True, blank=True)
    communication = columns.text()
    backup_communication = columns.text()
    dead_spots = columns.text()
    backup_tested_on = columns.date()
    address = columns.text()
    details_verified_on = columns.date()
    plan_posted = columns.text()
    cot_way = columns.choice(WAYS)
    drawn_field = columns.choice(places.DRAWN_FIELDS)
    latitude_deg = columns.decimal()
    longitude_deg = columns.decimal()
    bearing_deg = columns.decimal()


class Place(columns.RecordRow):
    """A place at a venue, or a way through it."""

    venue = columns.reference("store.Venue")
    kind = models.CharField(choices=columns.choices(places.PLACE_KINDS))
    name = models.TextField()
    surface = columns.choice(SURFACES)
    condition = columns.choice(places.CONDITIONS_OF_SURFACE)
    reach_s = columns.number()
    note = columns.text()


class Gate(columns.RecordRow):
    """A gate or door of a venue."""

    venue = columns.reference("store.Venue")
    name = models.TextField()
    is_cot_way = columns.yes_no()
    width = columns.length()
    key_holder = columns.text()


class PlanMark(columns.RecordRow):
    """A point, line or area on the drawn plan of a venue."""

    venue = columns.reference("store.Venue")
    kind = models.CharField(choices=columns.choices(places.MARK_KINDS))
    label = columns.text()
    drawn = models.TextField()
    note = columns.text()


class Team(columns.RecordRow):
    """A roster of athletes."""

    name = models.TextField()
    sport = columns.text()
    equipment_mass = columns.mass()


class Athlete(columns.RecordRow):
    """One athlete on a roster."""

    team = columns.reference("store.Team")
    number = columns.number()
    plays = columns.text()
    mass = columns.mass()
    stature = columns.length()
    equipment_mass = columns.mass()
    face_mask = columns.choice(people.FASTENINGS)
    helmet = columns.text()
    age_group = columns.choice(people.AGE_GROUPS)
    survey_table = columns.choice(people.SURVEY_TABLES)
    shoulder_breadth = columns.length()
    padded_shoulder_breadth = columns.length()
    trunk_breadth = columns.length()
    hip_breadth = columns.length()
    forearm_breadth = columns.length()


class Responder(columns.RecordRow):
    """Someone of the medical team, or a lay helper."""

    name = models.TextField()
    kind = models.CharField(choices=columns.choices(people.RESPONDER_KINDS))
    skills = WordsField(blank=True, default=list)
    fit_to_lift = columns.yes_no()
    briefed_for = WordsField(blank=True, default=list)
    lifting_limit = columns.mass()
    stature = columns.length()


class Qualification(columns.RecordRow):
    """A licence, certificate or course of a responder."""

    responder = columns.reference("store.Responder")
    name = models.TextField()
    expires_on = columns.date()


class CheckOff(columns.RecordRow):
    """A skill that a responder showed and somebody checked."""

    responder = columns.reference("store.Responder")
    skill = models.CharField(choices=columns.choices(SKILLS))
    done_on = models.DateField()
    by = columns.text()


class Agency(columns.RecordRow):
    """An ambulance agency."""

    name = models.TextField()
    skills = WordsField(blank=True, default=list)
    protocol_edition = columns.text()
    protocol_on = columns.date()
    rehearsed_on = columns.date()
    bariatric_lead_min = columns.number()
    bariatric_call = columns.text()


class Shift(columns.RecordRow):
    """A shift of an agency."""

    agency = columns.reference("store.Agency")
    name = models.TextField()
    rehearsed_on = columns.date()


class MutualAid(columns.RecordRow):
    """Which agency comes in place of another."""

    agency = columns.reference("store.Agency")
    replacement = columns.reference("store.Agency")
    usual_min = columns.number()


class Gear(columns.RecordRow):
    """One item of gear."""

    kind = models.CharField(choices=columns.choices(GEAR_KINDS))
    name = models.TextField()
    rated_load = columns.mass()
    standard = columns.text()
    own_mass = columns.mass()
    attached_mass = columns.mass()
    usable_width = columns.length()
    usable_length = columns.length()
    slot_width = columns.length()
    pairs_of_holds = columns.number()
    first_hold = columns.length()
    hold_spacing = columns.length()
    holds_apart = columns.length()
    mechanism = columns.choice(equipment.MECHANISMS)
    fits = WordsField(blank=True, default=list)
    fits_items = WordsField(blank=True, default=list)
    reaches_over_pads = columns.yes_no()
    helmets = WordsField(blank=True, default=list)
    is_charged = columns.yes_no()
    has_right_bit = columns.yes_no()
    place = columns.reference("store.Venue", null=True, blank=True)
    condition = columns.choice(equipment.GEAR_CONDITIONS)
    in_service = columns.yes_no()
    inspected_on = columns.date()
    inspect_every_days = columns.number()
    lubricate_every_days = columns.number()


class Upkeep(columns.RecordRow):
    """Something done to an item, or a use of it."""

    gear = columns.reference("store.Gear")
    day = models.DateField()
    done = models.CharField(choices=columns.choices(equipment.UPKEEP))
    by = columns.text()
    note = columns.text()


class Vehicle(columns.RecordRow):
    """An ambulance with its cot and crew."""

    agency = columns.reference("store.Agency")
    name = models.TextField()
    crew = columns.number()
    is_bariatric = columns.yes_no()
    cot_rated_load = columns.mass()
    standard = columns.text()
    attached_mass = columns.mass()
    cot_width = columns.length()
    strap_length = columns.length()
    retains = WordsField(blank=True, default=list)
    loading_rated_load = columns.mass()
    cot_lifts_itself = columns.yes_no()
    has_loading_system = columns.yes_no()
    left_space = columns.length()
    right_space = columns.length()
    head_space = columns.length()


class Event(columns.RecordRow):
    """A game or practice. Who and what is there stands in the tables below."""

    name = models.TextField()
    kind = models.CharField(choices=columns.choices(events.EVENT_KINDS))
    day = models.DateField()
    start = models.TimeField(null=True, blank=True)
    end = models.TimeField(null=True, blank=True)
    venue = columns.reference("store.Venue")
    plan_of = columns.choice(events.PLANS)
    teams = models.ManyToManyField(Team, through="store.EventTeam", related_name="+")
    visitors = columns.choice(events.VISITORS)
    is_wet = columns.yes_no()
    responders = models.ManyToManyField(Responder, through="store.EventResponder", related_name="+")
    others = columns.text()
    gear = models.ManyToManyField(Gear, through="store.EventGear", related_name="+")
    vehicles = models.ManyToManyField(Vehicle, through="store.EventVehicle", related_name="+")
    may_leave = models.ManyToManyField(Vehicle, through="store.EventMayLeave", related_name="+")
    shifts = models.ManyToManyField(Shift, through="store.EventShift", related_name="+")
    pauses_play = columns.text()
    rides_along = columns.text()
    tell = columns.text()


class JerseyNumber(columns.RecordRow):
    """A number that an athlete wears at one event only."""

    event = columns.reference("store.Event")
    athlete = columns.reference("store.Athlete")
    number = models.PositiveSmallIntegerField()


class Told(columns.RecordRow):
    """That somebody was told what a rule found, and what they answered."""

    event = columns.reference("store.Event")
    rule = models.TextField()
    subject = columns.text()
    who = models.TextField()
    day = models.DateField()
    at = models.TimeField(null=True, blank=True)
    answer = models.CharField(choices=columns.choices(events.TOLD_ANSWERS))
    note = columns.text()


class KnownGap(columns.RecordRow):
    """A finding that medical direction or administration knows and signed."""

    rule = models.TextField()
    subject = models.TextField()
    event = columns.reference("store.Event", null=True, blank=True)
    signed_by = models.CharField(choices=columns.choices(events.SIGNERS))
    signer = models.TextField()
    reason = models.TextField()
    signed_on = models.DateField()
    until = models.DateField()


class PreAgreement(columns.RecordRow):
    """What an ambulance agency and the programme settled about one technique."""

    agency = columns.reference("store.Agency")
    shift = columns.reference("store.Shift", null=True, blank=True)
    technique = models.TextField()
    answer = models.CharField(choices=columns.choices(events.ANSWERS))
    protocol_edition = columns.text()
    settled_on = columns.date()
    valid_until = columns.date()
    note = columns.text()


class MedicalOrder(columns.RecordRow):
    """What medical direction signed."""

    about = models.TextField()
    signer = models.TextField()
    signed_on = models.DateField()
    until = columns.date()
    conditions = columns.text()


class EventTeam(columns.AtEvent):
    """A team that plays at an event."""

    who = columns.reference("store.Team")


class EventResponder(columns.PresentAtEvent):
    """A responder at an event."""

    who = columns.reference("store.Responder")


class EventGear(columns.PresentAtEvent):
    """An item of gear brought to an event."""

    who = columns.reference("store.Gear")


class EventVehicle(columns.PresentAtEvent):
    """A vehicle at an event or on call for it."""

    who = columns.reference("store.Vehicle")


class EventMayLeave(columns.AtEvent):
    """A stand-by vehicle that may be called away."""

    who = columns.reference("store.Vehicle")


class EventShift(columns.AtEvent):
    """A shift of an agency on duty at an event."""

    who = columns.reference("store.Shift")
