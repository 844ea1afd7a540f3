"""The kinds of column the tables are made of, and the abstract tables that the others extend."""

from typing import Any

from django.db import models
from simple_history.models import HistoricalRecords

from onthree.store.fields import LengthField, MassField


def choices(words: tuple[str, ...]) -> list[tuple[str, str]]:
    """Words as the choices of a column."""
    return [(word, word) for word in words]


def kept_history(**options: Any) -> HistoricalRecords:
    """The history of a table: every version of every row, and why it changed."""
    return HistoricalRecords(history_change_reason_field=models.TextField(null=True), **options)


def reference(to: str, **options: Any) -> Any:
    """A row of another table, which cannot be deleted while it is referred to."""
    return models.ForeignKey(to, on_delete=models.PROTECT, related_name="+", **options)


def text() -> Any:
    """Free text; empty where nothing was written."""
    return models.TextField(blank=True, default="")


def choice(words: tuple[str, ...]) -> Any:
    """One of some words, or not known."""
    return models.CharField(null=True, blank=True, choices=choices(words))


def yes_no() -> Any:
    """Yes, no or not known."""
    return models.BooleanField(null=True, blank=True)


def number() -> Any:
    """A whole number from 0, or not known."""
    return models.PositiveSmallIntegerField(null=True, blank=True)


def decimal() -> Any:
    """A number with a fraction, or not known."""
    return models.FloatField(null=True, blank=True)


def date() -> Any:
    """A day, or not known."""
    return models.DateField(null=True, blank=True)


def mass() -> Any:
    """A mass as it was typed, or not known."""
    return MassField(null=True, blank=True)


def length() -> Any:
    """A length as it was typed, or not known."""
    return LengthField(null=True, blank=True)


class OwnedRow(models.Model):
    """A row that belongs to an organisation."""

    organisation = reference("store.Organisation")
    history = kept_history(inherit=True)

    class Meta:
        abstract = True


class RecordRow(OwnedRow):
    """A record, known by its code within its organisation."""

    code = models.CharField()

    class Meta:
        abstract = True
        constraints = (models.UniqueConstraint(fields=["organisation", "code"], name="%(class)s_code_once"),)


class AtEvent(OwnedRow):
    """Someone or something named by an event; ``place`` is its place in the list, counted from 0."""

    event = reference("store.Event")
    place = models.PositiveSmallIntegerField()

    class Meta:
        abstract = True
        constraints = (models.UniqueConstraint(fields=["event", "who"], name="%(class)s_once"),)


class PresentAtEvent(AtEvent):
    """Someone or something that is at an event from a minute after the call [min]."""

    from_min = models.PositiveSmallIntegerField(default=0)

    class Meta(AtEvent.Meta):
        abstract = True
