"""Tables of what is heard for an event. Part of ``models``, which is where to import them from."""

from django.db import models

from onthree.programme import time_out
from onthree.store import columns


class TimeOutAnswer(columns.RecordRow):
    """What somebody answered to one item of a medical time-out."""

    event = columns.reference("store.Event")
    item = models.CharField(choices=columns.choices(time_out.TIME_OUT_ITEMS))
    who = models.TextField()
    day = models.DateField()
    at = models.TimeField(null=True, blank=True)
    answer = models.CharField(choices=columns.choices(time_out.TIME_OUT_ANSWERS))
    note = columns.text()


class VisitorAnswer(columns.RecordRow):
    """What the visiting side answered before an event."""

    event = columns.reference("store.Event")
    side = columns.text()
    largest = columns.text()
    helmets = columns.text()
    leads = columns.text()
    reach = columns.text()
    brings = columns.text()
    day = models.DateField()
    at = models.TimeField(null=True, blank=True)
