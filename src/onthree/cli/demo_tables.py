"""How the demo reads in a terminal: the next event in full, then a clash, a hold, and the commands to go on with."""

import sys
from collections.abc import Iterator
from pathlib import Path

from rich.console import Console

from onthree.actions.agreements_answer import AgreementsAnswer
from onthree.actions.demo import DemoResult
from onthree.actions.event_answer import EventAnswer
from onthree.cli.tables import findings, indented, new_console, sentences, standing
from onthree.cli.transfer_tables import visitor
from onthree.transfers.agreements import in_words
from onthree.transfers.coverage import Coverage, teams_of
from onthree.transfers.options import AthleteAnswer, OptionsEngine
from onthree.transfers.sentence import name_athletes


def demo(prepared: DemoResult) -> None:
    """The check of the next event and its coverage, a clash of agreements, a practice that waits, more commands."""
    console = new_console()
    console.print(f"An invented conference, typed in {prepared.workbook}.", soft_wrap=True)
    console.print(f"Imported: {prepared.counts}\n", soft_wrap=True)
    findings(console, prepared.answer)
    sentences(console, prepared.answer)
    _coverage(console, prepared.answer.engine, prepared.covered)
    _clash(console, prepared.clashing)
    _hold(console, prepared.waiting)
    standing(console)
    console.print("\nGo on with, for example:")
    for command in _commands(prepared):
        console.print(f"  {_program()} {command} --folder {prepared.folder}", soft_wrap=True)


def _coverage(console: Console, engine: OptionsEngine, each: Coverage) -> None:
    console.print(f"\nCOVERAGE OF {each.event}: EVERY ATHLETE, FOUND SUPINE AND FOUND PRONE", style="bold")
    counts = (
        f"{each.possible_count} possible, {each.hold_count} held first, {each.unknown_count} not known, "
        f"{each.not_possible_count} not possible"
    )
    indented(console, f"{each.situations_count} situations: {counts}.", "  ")
    for answer in each.stuck:
        if answer.athlete.code in engine.programme.athletes:
            indented(console, f"{_who(engine, answer)}: {answer.status}. {_smallest(answer)}", "  ")
    for one in each.closed_by[:3]:
        do = " and ".join(f"{cause.do} ({cause.fixable_by})" for cause in one.causes)
        indented(console, f"Would open {one.situations_count} of them: {do}.", "  ")
    if said := visitor(engine):
        indented(console, f"A visitor nobody knows, taken as the worst case, found {said}.", "  ")


def _who(engine: OptionsEngine, answer: AthleteAnswer) -> str:
    return f"{name_athletes([answer.athlete], teams_of(engine))}, found {answer.position}"


def _smallest(answer: AthleteAnswer) -> str:
    """The smallest sets of causes that, mended, open an option."""
    sets = [" and ".join(cause.sentence for cause in fix) for fix in answer.fixes]
    return f"Because: {'; or '.join(sets)}."


def _clash(console: Console, found: AgreementsAnswer) -> None:
    engine = found.engine
    event = engine.event
    console.print(f"\nAGREEMENTS THAT CLASH: {event.code} {event.name}, {event.day.isoformat()}", style="bold")
    for together in dict.fromkeys(clash.together for clash in found.clashes):
        who = [
            f"found {clash.position}: {name_athletes(clash.athletes, teams_of(engine))}"
            for clash in found.clashes
            if clash.together == together
        ]
        indented(console, f"No option is left ({'; '.join(who)}), because together:", "  ")
        for row in found.rows:
            if (row.agency, row.technique) in together:
                settled = f"edition {row.protocol_edition}, settled {row.settled_on}"
                indented(console, f"- {in_words(engine, (row.agency, row.technique))} ({row.code}, {settled})", "    ")


def _hold(console: Console, answer: EventAnswer) -> None:
    event = answer.event
    there = sum(hand.from_min == 0 for hand in answer.engine.situation.hands)
    console.print(f"\nHELD UNTIL MORE COME: {event.code} {event.name}, {there} people there", style="bold")
    indented(console, answer.sentences["supine"], "  ")


def _commands(prepared: DemoResult) -> Iterator[str]:
    code, clashing = prepared.answer.event.code, prepared.clashing.engine.event.code
    yield f"why {code} 52"
    yield f"options {code} --athlete 52 --hands 3,+2@8min"
    yield f"options {code} --athlete 52 --why log_roll_supine_long_board"
    yield "coverage season"
    yield f"agreements {clashing}"
    yield f"sentence {prepared.waiting.event.code}"


def _program() -> str:
    """The program as it was called, so that a printed command can be copied."""
    called = Path(sys.argv[0]).absolute()
    return str(called.relative_to(Path.cwd())) if called.is_relative_to(Path.cwd()) else "onthree"
