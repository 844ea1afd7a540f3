"""Reads what one's own runs measured in some techniques: two questions, however many runs there are."""

from collections.abc import Collection
from datetime import date

from django.db.models import F

from onthree.programme.records import Measured
from onthree.rehearsals.own import QUANTITY_WORDS, OwnRun
from onthree.store import models
from onthree.store.connection import one_moment

_COLUMNS = ("phase__technique", "run__code", "code", "phase__code", "quantity", "value", "low", "high", "measured_as")


def load_own_runs(organisation_id: int, technique_ids: Collection[str], until: date) -> list[tuple[str, OwnRun]]:
    """The runs that count by a day, each once for each technique done in it, the latest first.

    A run that was set aside does not count, nor a do-nothing hold, in which nobody moved.
    """
    counts = {"organisation_id": organisation_id, "run__set_aside": "", "run__day__lte": until}
    with one_moment():
        phases = models.RunPhase.objects.filter(technique__in=technique_ids, **counts).exclude(run__is_hold=True)
        ordered = phases.order_by("-run__day", F("run__start").desc(nulls_last=True), "run__code")
        runs = dict.fromkeys(ordered.values_list("technique", "run__code", "run__day", "run__stand_in"))
        told = models.Measured.objects.filter(phase__technique__in=technique_ids, quantity__in=QUANTITY_WORDS, **counts)
        measured: dict[tuple[str, str], list[Measured]] = {}
        for technique, run, code, phase, *values in told.order_by("id").values_list(*_COLUMNS):
            quantity, value, low, high, measured_as = values
            one = Measured(
                code=code,
                run=run,
                phase=phase,
                quantity=quantity,
                value=value,
                low=low,
                high=high,
                measured_as=measured_as,
            )
            measured.setdefault((technique, run), []).append(one)
    return [
        (technique, OwnRun(run=run, day=day, stand_in=lay, measured=tuple(measured.get((technique, run), ()))))
        for technique, run, day, lay in runs
    ]
