"""How the life-first pages read in a terminal: what to do first, large and plain, then what it rests on."""

from collections.abc import Sequence

from rich.console import Console

from onthree.actions.life_first import ApprovedPage, LifeFirstAnswer
from onthree.cli.tables import indented, new_console
from onthree.techniques.life_first import DECIDED_LOCALLY, UNMARKED
from onthree.techniques.technique import Fact
from onthree.transfers.standing import DEFER


def life_first(answer: LifeFirstAnswer) -> None:
    """The titles, the signs under each, and whether it is approved."""
    console = new_console()
    for each in answer.pages:
        console.print(f"{each.page.order}  {each.page.title.upper()}  ({each.page.id})", style="bold")
        indented(console, "; ".join(sign.says for sign in each.page.sign), "   ")
        indented(console, each.approval, "   ")
    _end(console, answer)


def life_first_page(answer: LifeFirstAnswer, shown: ApprovedPage) -> None:
    """One page: actions, signs, what is known, conflicts, afterwards, sources."""
    console = new_console()
    page = shown.page
    console.print(page.title.upper(), style="bold")
    indented(console, shown.approval, "")
    for number, action in enumerate(page.action, start=1):
        console.print()
        console.print(f"  {number}  {action.does} {page.mark(action)}".rstrip(), style="bold", soft_wrap=True)
    _lines(console, shown, "SIGNS", [(sign.says, sign) for sign in page.sign])
    _lines(console, shown, "AFTERWARDS", [(line.does, line) for line in page.afterwards])
    _lines(console, shown, "WHAT IS KNOWN", [(str(fact), fact) for fact in page.known])
    for conflict in page.conflict:
        sides = [(side.says, side) for side in (conflict.one, conflict.other)]
        _lines(console, shown, f"THE SOURCES DIFFER: {conflict.about}", sides)
        indented(console, DECIDED_LOCALLY, "  ")
    if page.sources:
        console.print("\nSOURCES", style="bold")
        for number, cited in enumerate(page.sources, start=1):
            indented(console, f"[{number}] {cited}", "  ")
    indented(console, UNMARKED, "  ")
    _end(console, answer)


def _lines(console: Console, shown: ApprovedPage, title: str, lines: Sequence[tuple[str, Fact]]) -> None:
    if lines:
        console.print(f"\n{title}", style="bold")
    for text, fact in lines:
        indented(console, f"- {text} {shown.page.mark(fact)}".rstrip(), "  ")


def _end(console: Console, answer: LifeFirstAnswer) -> None:
    console.print()
    if answer.told:
        indented(console, answer.told, "")
    indented(console, DEFER, "")
