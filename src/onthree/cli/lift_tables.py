"""How a shared lift reads in a terminal."""

from rich.console import Console

from onthree.actions.lift_answer import LiftAnswer
from onthree.cli.tables import blank_table, heading, indented, new_console, standing
from onthree.transfers.sentence import numbers
from onthree.transfers.shared_lift import MEANING, SharedLift, share_shown


def lift(answer: LiftAnswer) -> None:
    """Device by device: equal people, one of them letting go, the people there; then the reference."""
    console = new_console()
    heading(console, answer.event)
    who = numbers([answer.athlete], answer.event.teams)
    console.print(f"Sharing the lift of {who}", style="bold")
    if not answer.lifts:
        indented(console, "No carrying device is at the event.", "  ")
    for one in answer.lifts:
        _device(console, answer, one)
    if answer.direct_kg:
        shares = ", ".join(f"{place} {share_shown(share)}" for place, share in answer.direct_kg)
        indented(
            console,
            f"Without a device, for reference only, under local protocol; all hands at a place together: {shares}.",
            "  ",
        )
    if answer.roll:
        indented(console, f"Log roll. {answer.roll.sentence}", "  ")
    console.print()
    indented(console, MEANING, "")
    indented(console, answer.reference.sentence, "")
    standing(console)


def _device(console: Console, answer: LiftAnswer, one: SharedLift) -> None:
    name = f"{one.device.name} {one.device.code}"
    if one.load_kg is None:
        indented(console, f"{name}: not known. Find out {', '.join(one.missing)}.", "  ")
        console.print()
        return
    rows = blank_table(
        f"{name}: {share_shown(one.load_kg)} with the device",
        ("Lifters", 8),
        ("At best", 10),
        ("Equal arms", 11),
        ("One lets go", 12),
        ("At the holds, from the head end", None),
    )
    for equal in one.equal:
        shares = (equal.best_kg, equal.equal_arms_kg, equal.one_short_kg)
        rows.add_row(str(equal.people), *map(share_shown, shares), ", ".join(equal.holds))
    console.print(rows)
    if people := answer.people_by_reference(one):
        indented(console, f"By the reference of {answer.reference.printed} each, people: {people}.", "  ")
    if one.crew:
        indented(console, f"As listed, against the limits they stated. {one.crew.as_listed.sentence}", "  ")
        order = ", ".join(f"{hold}: {name}" for hold, name in one.crew.best_order)
        indented(console, f"Best order ({order}). {one.crew.best.sentence}", "  ")
    else:
        indented(console, "Fewer than four people stated a lifting limit: no order is compared.", "  ")
    console.print()
