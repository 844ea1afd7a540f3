"""Tables of films on their way in, rig files, and the queue of films to be measured; the films lie in files."""

from django.db import models

from onthree.programme.rehearsals import RECORDING_KINDS
from onthree.store import columns

WAITING, MEASURING, DRAWING, DONE, FAILED, CANCELLED = "waiting", "measuring", "drawing", "done", "failed", "cancelled"
JOB_STATES = (WAITING, MEASURING, DRAWING, DONE, FAILED, CANCELLED)


class RigFile(models.Model):
    """A rig file as it was given, for one evening and those after it."""

    organisation = columns.reference("store.Organisation")
    name = models.TextField()
    content = models.TextField()
    day = models.DateField()
    by = models.TextField()
    at = models.DateTimeField()


class FilmUpload(models.Model):
    """A film that is sent in pieces; its key is made where it is sent from. How much is there, its file tells."""

    key = models.UUIDField(primary_key=True)
    organisation = columns.reference("store.Organisation")
    run = columns.reference("store.Run")
    name = models.TextField()
    size_bytes = models.BigIntegerField()
    kind = models.CharField(choices=columns.choices(RECORDING_KINDS))
    taken_by = columns.text()
    offset_s = columns.decimal()
    offset_sd_s = columns.decimal()
    by = models.TextField()
    at = models.DateTimeField()
    recording = columns.text()
    problem = columns.text()


class MeasureJob(models.Model):
    """Films of a run to be measured: with what, how far it is, and what came of it."""

    organisation = columns.reference("store.Organisation")
    run = columns.reference("store.Run")
    rig = columns.reference("store.RigFile")
    camera = columns.text()
    recordings = models.JSONField()
    bound_deg = columns.decimal()
    by = models.TextField()
    at = models.DateTimeField()
    state = models.CharField(choices=columns.choices(JOB_STATES), default=WAITING, db_index=True)
    is_called_off = models.BooleanField(default=False)
    attempts = models.PositiveSmallIntegerField(default=0)
    done_s = columns.decimal()
    of_s = columns.decimal()
    left_s = columns.decimal()
    alive_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    problem = columns.text()
    told = models.JSONField(default=dict)
