"""How answers read in a terminal: words first, colour never needed."""

from collections.abc import Sequence
from itertools import groupby
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from onthree.actions.demo import DemoResult
from onthree.actions.event_answer import EventAnswer
from onthree.actions.workbooks import ImportResult
from onthree.transfers.causes import Cause
from onthree.transfers.options import AthleteAnswer, OptionResult
from onthree.transfers.sentence import numbers, way
from onthree.transfers.standing import STANDING
from onthree.units import load_kg_shown

_NARROWEST = 100


def _console() -> Console:
    console = Console(highlight=False, markup=False, emoji=False)
    return console if console.is_terminal else Console(highlight=False, markup=False, emoji=False, width=_NARROWEST)


def demo(prepared: DemoResult) -> None:
    """The demo's answer: the check, then the commands to go on with."""
    console = _console()
    console.print(f"An invented conference, imported from {prepared.workbook}: {prepared.counts}.\n")
    check(prepared.answer)
    options(prepared.answer, _exceptions(prepared.answer), in_full=False)
    console.print("\nGo on with, for example:")
    code, where = prepared.answer.event.code, prepared.folder
    for command in (
        f"options {code}",
        f"why {code} 52",
        f"options {code} --athlete 52 --hands 3,+2@8min",
        f"sentence {code}",
    ):
        console.print(f"  onthree {command} --folder {where}", soft_wrap=True)


def check(answer: EventAnswer) -> None:
    """Findings by level, then the sentences."""
    console = _console()
    _heading(console, answer)
    if not answer.findings:
        console.print("Nothing found by these rules. What no rule asks about is not known.")
    for level, found in groupby(answer.findings, key=lambda finding: finding.level):
        table = _table(level.upper(), ("Rule", 20), ("What", None), ("Numbers", 32), ("Do (who)", 34))
        for finding in found:
            evidence = "\n".join(f"{what}: {value}" for what, value in finding.evidence)
            table.add_row(finding.rule, finding.message, evidence, f"{finding.do} ({finding.who})")
        console.print(table)
    told = sorted({finding.tell for finding in answer.findings if finding.level == "tell before start"})
    if told:
        console.print(f"Tell before start: {', '.join(told)}.")
    sentences(answer)


def sentences(answer: EventAnswer) -> None:
    """The sentences to say aloud, and what stands beside every answer."""
    console = _console()
    console.print("\nSay at the time-out:")
    for text in answer.sentences.values():
        console.print(f"  {text}")
    _standing(console)


def options(answer: EventAnswer, found: Sequence[AthleteAnswer], *, in_full: bool) -> None:
    """One row an athlete, or every option of one athlete."""
    console = _console()
    if in_full:
        _heading(console, answer)
        for one in found:
            _every_option(console, answer, one)
        _standing(console)
        return
    table = _table(
        f"{answer.event.code}: {answer.goal.title}",
        ("No.", 14),
        ("Load", 11),
        ("Found", 7),
        ("Answer", 12),
        ("By", None),
    )
    for one in found:
        table.add_row(numbers([one.athlete], answer.teams), _load(one), one.position, one.status, _by(one))
    console.print(table)


def why(answer: EventAnswer, found: Sequence[AthleteAnswer]) -> None:
    """For each found position: the planned option, why not the others, what blocks, the smallest fixes."""
    console = _console()
    _heading(console, answer)
    for one in found:
        _every_option(console, answer, one)
        _sets(console, "Each of these sets alone blocks every option:", one.blocked_by, lambda cause: cause.sentence)
        _sets(
            console,
            "Smallest fixes, any one of them opens an option:",
            one.fixes,
            lambda cause: f"{cause.do} ({cause.fixable_by})",
        )
    _standing(console)


def imported(result: ImportResult) -> None:
    """What an import added and changed."""
    console = _console()
    changes = result.changes
    console.print(("Saved." if result.is_saved else "Preview, nothing saved.") + f" {changes.summary}")
    for line in changes.lines():
        console.print(f"  {line}", soft_wrap=True)


def _exceptions(answer: EventAnswer) -> tuple[AthleteAnswer, ...]:
    """The supine answers that are not like most: one of each kind of usual answer stays as an example."""
    supine = answer.answers["supine"]
    ways = [way(one) for one in supine]
    commonest = max(set(ways), key=ways.count) if ways else ""
    usual = [one for one in supine if way(one) == commonest][:2]
    return (*usual, *(one for one in supine if way(one) != commonest))


def _every_option(console: Console, answer: EventAnswer, one: AthleteAnswer) -> None:
    who = numbers([one.athlete], answer.teams)
    console.print(f"\n{who} found {one.position}, load {_load(one)}, {one.goal.title}: {one.status}")
    for result in one.results:
        title = "planned" if result is one.planned else result.status
        vehicle = result.items.vehicle
        items = [there.gear.code for there in result.items.devices.values() if there] + (
            [vehicle.vehicle.code] if vehicle else []
        )
        console.print(f"\n  {title.upper()}: {_way(result)}, {', '.join(items)}", style="bold")
        console.print("    " + " > ".join(step.technique.title for step in result.option.steps))
        _details(console, result)


def _details(console: Console, result: OptionResult) -> None:
    people = f"{result.people_count} people at once, {result.lifters_count} of them lift to the cot"
    console.print(f"    {result.option.handlings_count} handlings; {people}")
    for wait in result.waits:
        console.print(f"    hold before {wait.step.technique.title} until minute {wait.until_min}: {wait.reason}")
    for cause in result.against:
        console.print(f"    {cause.verdict}: {cause.sentence}")
    for caution in result.cautions:
        console.print(f"    caution: {caution}")


def _sets(console: Console, title: str, sets: Sequence[Sequence[Cause]], words: Any) -> None:
    if sets:
        console.print(f"\n  {title}")
        for one in sets:
            console.print("    - " + " and ".join(words(cause) for cause in one))


def _way(result: OptionResult) -> str:
    onto = next(step.technique for step in result.option.steps if "device" in step.technique.after)
    return onto.title


def _by(one: AthleteAnswer) -> str:
    planned = one.planned
    if planned is None:
        return "; ".join(dict.fromkeys(fix[0].do for fix in one.fixes if fix)) or "no technique for this"
    hold = "".join(
        f"; hold until minute {wait.until_min} before {wait.step.technique.title.lower()}" for wait in planned.waits
    )
    vehicle = f", {planned.items.vehicle.vehicle.name}" if planned.items.vehicle else ""
    return f"{way(one)}, {planned.lifters_count} lifters{vehicle}{hold}"


def _load(one: AthleteAnswer) -> str:
    if any(part.mass is None for part in one.worn):
        return "not known"
    return load_kg_shown(sum(part.mass.kg for part in one.worn if part.mass))  # type: ignore[arg-type]


def _heading(console: Console, answer: EventAnswer) -> None:
    event, venue = answer.event, answer.programme.venues[answer.event.venue]
    start = f" {event.start:%H:%M}" if event.start else ""
    console.print(f"{event.code} {event.name}, {event.day.isoformat()}{start}, {venue.name}", style="bold")
    if answer.programme.organisation.is_invented:
        console.print(f"Invented data: {answer.programme.organisation.name}.")
    there = [hand for hand in answer.engine.situation.hands if hand.from_min == 0]
    coming = len(answer.engine.situation.hands) - len(there)
    console.print(f"Hands: {len(there)} there, {coming} coming. Goal: {answer.goal.title}.\n")


def _standing(console: Console) -> None:
    console.print()
    for text in STANDING:
        console.print(Text(text, style="dim"))


def _table(title: str, *columns: tuple[str, int | None]) -> Table:
    table = Table(title=title, title_justify="left", title_style="bold", show_lines=False, pad_edge=False, expand=True)
    for header, width in columns:
        table.add_column(header, width=width, ratio=None if width else 1, overflow="fold")
    return table
