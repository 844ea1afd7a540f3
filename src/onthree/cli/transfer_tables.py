"""How coverage, agreements and the comparison of two options read in a terminal."""

from collections.abc import Sequence

from rich.console import Console

from onthree.actions.agreements_answer import AgreementsAnswer
from onthree.actions.coverage_answer import CoverageAnswer
from onthree.actions.event_answer import EventAnswer
from onthree.cli.tables import blank_table, heading_of, indented, life_first, new_console, standing
from onthree.techniques.state import spoken
from onthree.transfers.agreements import in_words
from onthree.transfers.coverage import Closed, Coverage, has_unknown_visitors, teams_of, worst_visitor
from onthree.transfers.differences import differences, evidence_lines
from onthree.transfers.options import AthleteAnswer, OptionsEngine
from onthree.transfers.sentence import name_athletes, way

MOST_CAUSES = 8


def coverage(answer: CoverageAnswer) -> None:
    """One row an event; then who is stuck, and which causes account for it."""
    console = new_console()
    life_first(console)
    console.print(f"Coverage: {answer.title}", style="bold")
    if answer.programme.organisation.is_invented:
        console.print(f"Invented data: {answer.programme.organisation.name}.")
    held, stuck = answer.held_count, answer.stuck_count
    console.print(f"{answer.situations_count} situations: {held} must be held first, {stuck} without a known option.\n")
    rows = blank_table(
        "Athletes times found positions",
        ("Event", 7),
        ("Possible", 9),
        ("Hold", 16),
        ("Unknown", 8),
        ("Not possible", 13),
        ("Worst visitor", None),
    )
    for engine, each in answer.covered:
        hold = f"{each.hold_count}, to minute {each.longest_hold_min}" if each.hold_count else "0"
        counts = (str(each.possible_count), hold, str(each.unknown_count), str(each.not_possible_count))
        rows.add_row(each.event, *counts, visitor(engine))
    console.print(rows)
    for engine, each in answer.covered:
        _stuck(console, engine, each)
    if answer.closed_by:
        console.print("What, mended together, would open how many of them", style="bold")
        most_of: dict[str, int] = {}
        for one in answer.closed_by:  # most situations first: sets in the same words are said once
            most_of.setdefault(_mended(one), one.situations_count)
        for what, count in list(most_of.items())[:MOST_CAUSES]:
            indented(console, f"{count}: {what}", "  ")
        if len(most_of) > MOST_CAUSES:
            console.print(f"  and {len(most_of) - MOST_CAUSES} more sets")
    standing(console)


def agreements(answer: AgreementsAnswer) -> None:
    """What holds at the event, what clashes, what each agreement costs."""
    console = new_console()
    heading_of(console, answer.engine)
    console.print("What was settled", style="bold")
    for row in answer.rows:
        agency = answer.programme.agencies[row.agency].name
        shift = f", {answer.programme.shifts[row.shift].name}" if row.shift else ""
        until = f", until {row.valid_until}" if row.valid_until else ""
        indented(console, f"{agency}{shift}: {spoken(row.technique)}: {row.answer}{until} ({row.code})", "  ")
    if not answer.rows:
        console.print("  nothing with the agencies that may come")
    console.print("\nWhat clashes", style="bold")
    for clash in answer.clashes:
        together = "; and ".join(sorted(in_words(answer.engine, one) for one in clash.together))
        who = name_athletes(clash.athletes, teams_of(answer.engine))
        indented(console, f"{who} found {clash.position}: no option with {together}", "  ")
    if not answer.clashes:
        console.print("  nothing")
    console.print("\nWhat costs a handling", style="bold")
    for cost in answer.costs:
        who, saved = name_athletes(cost.athletes, teams_of(answer.engine)), cost.handlings_saved_count
        indented(
            console,
            f"{who} found {cost.position}: {in_words(answer.engine, cost.agreed)}: "
            f"{cost.handlings_count} handlings, without it {cost.handlings_count - saved}",
            "  ",
        )
    if not answer.costs:
        console.print("  nothing")
    standing(console)


def why_technique(answer: EventAnswer, found: Sequence[AthleteAnswer], technique: str) -> None:
    """The best option with a technique beside the planned one, fact by fact, and what the evidence says."""
    console = new_console()
    heading_of(console, answer.engine)
    for one in found:
        with_it, planned = one.best_with(technique), one.planned
        console.print(f"Found {one.position}: {answer.engine.library[technique].title}", style="bold")
        if with_it is None:
            console.print("  no option to this goal has it\n")
            continue
        for cause in with_it.against:
            indented(console, f"{cause.verdict}: {cause.sentence}. Do: {cause.do} ({cause.fixable_by})", "  ")
        if planned is None or with_it.option is planned.option:
            console.print("  it is in the planned option\n" if planned else "  nothing is planned to compare with\n")
            continue
        console.print(f"  The planned option ({way(one)}) and this one, fact by fact:")
        for each in differences(planned, with_it):
            indented(console, f"{each.fact}: {each.one} | {each.other}", "    ")
        for line in evidence_lines(answer.engine.order, planned.option, with_it.option):
            indented(console, line, "  ")
        console.print()
    standing(console)


def visitor(engine: OptionsEngine) -> str:
    """What a visitor nobody knows gets, taken as the worst case; empty where everybody is known."""
    if not has_unknown_visitors(engine):
        return ""
    athlete, team = worst_visitor(engine)
    said = [f"{position}: {engine.answer_for(athlete, team, position).status}" for position in ("supine", "prone")]
    return ", ".join(said)


def _mended(one: Closed) -> str:
    return " and ".join(dict.fromkeys(f"{cause.do} ({cause.fixable_by})" for cause in one.causes))


def _stuck(console: Console, engine: OptionsEngine, each: Coverage) -> None:
    for position in dict.fromkeys(answer.position for answer in each.stuck):
        found = [answer for answer in each.stuck if answer.position == position]
        who = name_athletes([answer.athlete for answer in found], teams_of(engine))
        indented(console, f"{each.event}, found {position}: {who}", "")
    if each.stuck:
        console.print()
