"""Checks of what was recorded of rehearsals: roles, phases in their order, moments inside the run, bands."""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

from onthree.programme.records import Incident, Measured, Recording, Run, RunPhase, RunRole
from onthree.programme.rehearsals import LAGS, ROLES_OF_THEIR_OWN, START_LAG_MODELLED, STRETCHES
from onthree.workbook.contradictions import after_import
from onthree.workbook.problems import Problem, did_you_mean
from onthree.workbook.rows import Row
from onthree.workbook.stored import Stored
from onthree.workbook.values import number_shown


def check_runs(rows: Sequence[Row], known_techniques: Collection[str], current: Stored | None) -> Iterator[Problem]:
    """Problems of rows about runs, alone and beside each other and what is stored and stays."""
    if not any(row.kind in (Run, RunRole, RunPhase, Incident, Recording, Measured) for row in rows):
        return
    techniques = known_techniques if isinstance(known_techniques, Mapping) else {}
    phases = after_import(RunPhase, rows, current)
    for row in rows:
        if row.kind is RunRole and techniques:
            yield from _role(row, techniques)
        if row.kind is RunPhase:
            yield from _without_length(row)
        if row.kind is Recording:
            yield from _stretches(row)
        if row.kind is Measured:
            yield from _unknown_quantity(row)
            yield from _outside_its_band(row)
    yield from _phases_in_order(phases)
    lasted_s = {run.code: run.values.get("lasted_s") for run in after_import(Run, rows, current)}
    yield from _after_the_end(rows, lasted_s)
    known = [row for row in rows if row.values.get("run") in lasted_s]
    yield from _of_another_run(known, {RunPhase: phases, Recording: after_import(Recording, rows, current)})


def _role(row: Row, techniques: Mapping[str, Any]) -> Iterator[Problem]:
    """A role is one of the technique's, or where none is named of any technique; or one that belongs to none."""
    role, technique = row.values.get("role"), row.values.get("technique")
    if not role or (technique and technique not in techniques):
        return
    asked = [techniques[technique]] if technique else techniques.values()
    known = list(dict.fromkeys([*(one.id for each in asked for one in each.role), *ROLES_OF_THEIR_OWN]))
    if role not in known:
        of = f"a role of {technique}" if technique else "a role of a technique"
        fix = did_you_mean(role, known, f"known are {', '.join(known)}")
        yield row.problem("role", role, f"{of}, or {', '.join(ROLES_OF_THEIR_OWN)}", fix)


def _without_length(row: Row) -> Iterator[Problem]:
    start_s, end_s = row.values.get("start_s"), row.values.get("end_s")
    if start_s is not None and end_s is not None and end_s <= start_s:
        fix = "correct one of them; leave End blank for a phase that is not done"
        yield row.problem("end_s", number_shown(end_s), f"more than Start, {number_shown(start_s)},", fix)


def _stretches(row: Row) -> Iterator[Problem]:
    """What is marked on a film has two ends, and a nod is of use only with a turn."""
    marked = set()
    for kind in STRETCHES:
        names = (f"{kind}_from_s", f"{kind}_to_s")
        from_s, to_s = (row.values.get(name) for name in names)
        if from_s is not None or to_s is not None:
            marked.add(kind)
        if from_s is not None and to_s is not None and to_s <= from_s:
            expected = f"more than its start, {number_shown(from_s)},"
            yield row.problem(names[1], number_shown(to_s), expected, "correct one of them")
        if (from_s is None) != (to_s is None) and all(name in row.values for name in names):
            fix = f"write it too, or clear the other: a {kind} stretch has two ends"
            yield row.problem(names[0 if from_s is None else 1], "", "seconds from the first frame", fix)
    if len(alone := marked & {"nod", "turn"}) == 1:
        other = "turn" if "nod" in alone else "nod"
        fix = "nod and turn show the axes only together: mark both, or none"
        yield row.problem(f"{other}_from_s", "", f"a {other} as well", fix)


def _unknown_quantity(row: Row) -> Iterator[Problem]:
    from onthree.kinematics.measures import NAMES

    quantity, known = row.values.get("quantity"), (*LAGS, *NAMES)
    if quantity and quantity not in known:
        named = [name for name in known if name != START_LAG_MODELLED]
        fix = did_you_mean(quantity, named, f"known are {', '.join(named)}")
        yield row.problem("quantity", quantity, "the identifier of a quantity", fix)


def _outside_its_band(row: Row) -> Iterator[Problem]:
    value, low, high = (row.values.get(name) for name in ("value", "low", "high"))
    if value is not None and low is not None and low > value:
        yield row.problem("low", number_shown(low), f"at most Value, {number_shown(value)},", "correct one of them")
    if value is not None and high is not None and high < value:
        yield row.problem("high", number_shown(high), f"at least Value, {number_shown(value)},", "correct one of them")


def _phases_in_order(phases: Iterable[Row]) -> Iterator[Problem]:
    """Within a run each place in the order once, and each phase after the one before it."""
    of_run: dict[str, list[Row]] = {}
    for row in phases:
        if row.code and None not in (row.values.get("run"), row.values.get("order"), row.values.get("start_s")):
            of_run.setdefault(row.values["run"], []).append(row)
    for of_one in of_run.values():
        ordered = sorted(of_one, key=lambda row: (row.values["order"], row.values["start_s"]))
        for before, after in pairwise(ordered):
            told = after if after.number else before
            if told.number:
                yield from _one_after_another(before, after, told)


def _one_after_another(before: Row, after: Row, told: Row) -> Iterator[Problem]:
    other = before if told is after else after
    run, place = told.values["run"], f"row {other.number}" if other.number else f"{other.code}, already stored,"
    ended_s, begins_s = before.values.get("end_s"), after.values["start_s"]
    if before.values["order"] == after.values["order"]:
        fix = f"{place} has the same place: number the phases of {run} in the order in which they were done"
        yield told.problem("order", str(told.values["order"]), f"a place of its own in {run}", fix)
    elif "end_s" in before.values and ended_s is None:
        fix = "write when it ended, for the next one began" if told is before else f"{place} has no end: write it there"
        yield told.problem("end_s" if told is before else "start_s", "", "phases one after another", fix)
    elif ended_s is not None and begins_s < ended_s:
        name = "start_s" if told is after else "end_s"
        fix = f"{place} overlaps it: correct one of them, or their order"
        yield told.problem(name, number_shown(told.values[name]), "phases one after another", fix)


_MOMENTS = ("start_s", "end_s", "moment_s")


def _after_the_end(rows: Iterable[Row], lasted_s: Mapping[str, float | None]) -> Iterator[Problem]:
    """Phases, incidents and peaks later than the whole run lasted."""
    for row in rows:
        end_s = lasted_s.get(row.values.get("run", ""))
        for name in _MOMENTS if end_s is not None else ():
            moment_s = row.values.get(name)
            if isinstance(moment_s, float) and end_s is not None and moment_s > end_s:
                fix = "correct it, or how long the run lasted"
                expected = f"within the {number_shown(end_s)} s that {row.values['run']} lasted"
                yield row.problem(name, number_shown(moment_s), expected, fix)


def _of_another_run(rows: Iterable[Row], referred_to: Mapping[type[Any], Iterable[Row]]) -> Iterator[Problem]:
    """Numbers measured in a phase or from a recording of another run."""
    run_of = {kind: {row.code: row.values.get("run") for row in found} for kind, found in referred_to.items()}
    for row in rows:
        for name, kind in (("phase", RunPhase), ("recording", Recording)) if row.kind is Measured else ():
            code, run = row.values.get(name), row.values.get("run")
            other = run_of[kind].get(code) if code else None
            if other and run and other != run:
                yield row.problem(name, str(code), f"one of {run}", f"it belongs to {other}: correct one of them")
