"""How answers read in a terminal: words first, colour never needed."""

from collections.abc import Callable, Sequence
from itertools import groupby
from textwrap import wrap

from rich import box
from rich.console import Console
from rich.table import Table

from onthree.actions.event_answer import EventAnswer
from onthree.actions.workbooks import ImportResult
from onthree.readiness.answers import answer_lines
from onthree.readiness.finding import Level
from onthree.readiness.wording import DEFAULT_TELL
from onthree.transfers.beside import beside_options
from onthree.transfers.causes import Cause
from onthree.transfers.goals import Goal
from onthree.transfers.options import AthleteAnswer, OptionResult, OptionsEngine
from onthree.transfers.sentence import numbers, way
from onthree.transfers.standing import LIFE_FIRST, STANDING, rests_on
from onthree.units import load_shown, total

_NARROWEST = 100


def new_console() -> Console:
    """A console as wide as the terminal; wide enough to read where there is none."""
    console = Console(highlight=False, markup=False, emoji=False)
    return console if console.is_terminal else Console(highlight=False, markup=False, emoji=False, width=_NARROWEST)


def check(answer: EventAnswer) -> None:
    """Findings by level, then the sentences."""
    console = new_console()
    findings(console, answer)
    sentences(console, answer)
    standing(console)


def findings(console: Console, answer: EventAnswer) -> None:
    """The event, and its findings by level."""
    heading(console, answer)
    if unclear := answer.without_a_clear_option:
        everyone = len(answer.programme.roster(answer.event))
        console.print(f"{unclear} of {everyone} athletes must be held, or have no option, or it is not known.\n")
    elif not answer.findings:
        console.print("Nothing found by these rules. What no rule asks about is not known.\n")
    for level, found in groupby(answer.findings, key=lambda finding: finding.level):
        told = f" (tell: {answer.event.tell or DEFAULT_TELL})" if level is Level.TELL else ""
        console.print(f"{level.upper()}{told}", style="bold")
        for finding in found:
            indented(console, f"{finding.message}.", "  ")
            indented(console, "; ".join(f"{what} {value}" for what, value in finding.evidence), "      ")
            indented(console, f"Do: {finding.do}. Who: {finding.who}. Rule: {finding.rule}.", "      ")
            for line in answer_lines(finding):
                indented(console, line, "      ")
        console.print()


def sentence(answer: EventAnswer) -> None:
    """Life first, then the sentences."""
    console = new_console()
    life_first(console)
    sentences(console, answer)
    standing(console)


def sentences(console: Console, answer: EventAnswer) -> None:
    """The sentences to say aloud."""
    console.print("SAY AT THE TIME-OUT", style="bold")
    for text in answer.sentences.values():
        indented(console, text, "  ")


def options(answer: EventAnswer, found: Sequence[AthleteAnswer], *, in_full: bool) -> None:
    """One row an athlete, or every option of one athlete."""
    console = new_console()
    heading(console, answer)
    if in_full:
        for one in found:
            _every_option(console, answer, one)
    else:
        _by_athlete(console, answer, found)
    standing(console)


def _by_athlete(console: Console, answer: EventAnswer, found: Sequence[AthleteAnswer]) -> None:
    rows = blank_table(
        f"{answer.event.code}, found {found[0].position if found else ''}: {answer.goal.title}",
        ("Number", 14),
        ("Load", 22),
        ("Answer", 17),
        ("By", None),
    )
    for one in found:
        rows.add_row(numbers([one.athlete], answer.teams), _load(one), _answer(one), _by(one))
    console.print(rows)


def why(answer: EventAnswer, found: Sequence[AthleteAnswer]) -> None:
    """For each found position: the planned option, why not the others, what blocks, the smallest fixes."""
    console = new_console()
    heading(console, answer)
    for one in found:
        _every_option(console, answer, one)
        _sets(
            console,
            "What blocks every option, each line taken as a whole:",
            one.blocked_by,
            lambda cause: cause.sentence,
        )
        _sets(
            console,
            "Smallest fixes, any one of them may open an option:",
            one.fixes,
            lambda cause: f"{cause.do} ({cause.fixable_by})",
        )
    standing(console)


def imported(result: ImportResult) -> None:
    """What an import added and changed."""
    console = new_console()
    changes = result.changes
    console.print(("Saved." if result.is_saved else "Preview, nothing saved.") + f" {changes.summary}")
    for line in changes.lines():
        console.print(f"  {line}", soft_wrap=True)


def _every_option(console: Console, answer: EventAnswer, one: AthleteAnswer) -> None:
    who = numbers([one.athlete], answer.teams)
    indented(console, f"{who} found {one.position}, load {_load(one)}, {one.goal.title}: {one.status}", "")
    said: set[str] = set()
    for place, (result, others_count, after) in enumerate(one.ways):
        title = "planned" if place == 0 and one.planned else result.status
        console.print(f"\n  {title.upper()}: {', '.join((result.title, *_items(result)))}", style="bold")
        if result.status == "possible":
            indented(console, " > ".join(step.technique.title for step in result.option.steps), "    ")
        _details(console, result, said)
        if after:
            indented(console, f"after the planned option: {after}", "    ")
        if others_count:
            console.print(f"    {others_count} more options of this way differ in something else")
    for text in beside_options(answer.engine):
        indented(console, text, "  ")
    if one.ties:
        console.print(f"\n  A tie: nothing but the usual order tells {len(one.ties)} more from the planned option.")
    console.print()


def _details(console: Console, result: OptionResult, said: set[str]) -> None:
    """What an option takes and what stands against it; a caution said before is not said again."""
    least, most = result.lifters_least_count, result.lifters_count
    lift = str(most) if least == most else f"{least} to {most}, by load,"
    handlings = result.option.handlings_count
    indented(
        console, f"{handlings} handlings; at least {result.people_count} people at once; {lift} lift to the cot", "    "
    )
    for wait in result.waits:
        indented(
            console, f"hold before {wait.step.technique.title} until minute {wait.until_min}: {wait.reason}", "    "
        )
    for cause in result.against:
        indented(console, f"{cause.verdict}: {cause.sentence}", "    ")
    for caution in dict.fromkeys(result.cautions if result.status == "possible" else ()):
        if caution not in said:
            indented(console, f"caution: {caution}", "    ")
        said.add(caution)


def _items(result: OptionResult) -> tuple[str, ...]:
    devices = tuple(f"{there.gear.name} {there.gear.code}" for there in result.items.devices.values() if there)
    vehicle = result.items.vehicle
    return (*devices, vehicle.vehicle.name) if vehicle else devices


def _sets(console: Console, title: str, sets: Sequence[Sequence[Cause]], words: Callable[[Cause], str]) -> None:
    """The sets in words, each once; what is said of two causes alike may make a set say more than a smaller one."""
    if sets:
        console.print(f"  {title}")
        said = dict.fromkeys(tuple(dict.fromkeys(words(cause) for cause in one)) for one in sets)
        for one in said:
            if not any(set(other) < set(one) for other in said):
                indented(console, f"- {' and '.join(one)}", "    ")
        console.print()


def _answer(one: AthleteAnswer) -> str:
    return f"hold to minute {one.planned.from_min}" if one.planned and one.planned.waits else one.status


def _by(one: AthleteAnswer) -> str:
    planned = one.planned
    if planned is None:
        return "; ".join(dict.fromkeys(fix[0].do for fix in one.fixes if fix)) or "no technique for this"
    vehicle = f", {planned.items.vehicle.vehicle.name}" if planned.items.vehicle else ""
    return f"{way(one)}, {planned.lifters_count} lifters{vehicle}"


def _load(one: AthleteAnswer) -> str:
    if any(part.mass is None for part in one.worn):
        return "not known"
    return load_shown(total(part.mass for part in one.worn if part.mass))


def heading(console: Console, answer: EventAnswer) -> None:
    """Life first; the event, whether its data are invented, and who is there."""
    heading_of(console, answer.engine, answer.goal)


def heading_of(console: Console, engine: OptionsEngine, goal: Goal | None = None) -> None:
    """The same for an engine without an answer yet; the goal is the event's own unless given."""
    life_first(console)
    event, venue = engine.event, engine.programme.venues[engine.event.venue]
    start = f" {event.start:%H:%M}" if event.start else ""
    console.print(f"{event.code} {event.name}, {event.day.isoformat()}{start}, {venue.name}", style="bold")
    if engine.programme.organisation.is_invented:
        console.print(f"Invented data: {engine.programme.organisation.name}.")
    there = [hand for hand in engine.situation.hands if hand.from_min == 0]
    coming = len(engine.situation.hands) - len(there)
    console.print(f"Hands: {len(there)} there, {coming} coming. Goal: {(goal or engine.goal).title}.\n")


def life_first(console: Console) -> None:
    """What is printed before everything else."""
    indented(console, f"{LIFE_FIRST} What to do: onthree life-first", "")
    console.print()


def standing(console: Console) -> None:
    """What stands beside every answer; life first was said before it."""
    console.print()
    for text in STANDING:
        if text != LIFE_FIRST:
            indented(console, text, "")
    indented(console, rests_on(), "")


def indented(console: Console, text: str, indent: str) -> None:
    """A text in lines of the console's width, the further ones hanging."""
    hanging = indent if indent else "  "
    for line in wrap(text, console.width - 1, initial_indent=indent, subsequent_indent=hanging + "  "):
        console.print(line)


def blank_table(title: str, *columns: tuple[str, int | None]) -> Table:
    """An empty table; each column a header and its width, None for the rest of the line."""
    made = Table(
        title=title, title_justify="left", title_style="bold", box=box.SIMPLE_HEAD, pad_edge=False, expand=True
    )
    for header, width in columns:
        made.add_column(header, width=width, ratio=None if width else 1, overflow="fold")
    return made
