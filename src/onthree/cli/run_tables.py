"""How runs and debriefs read in a terminal."""

from pathlib import Path

from rich.console import Console

from onthree.actions.debrief import DebriefAnswer
from onthree.actions.run_answer import RunAnswer, RunsAnswer
from onthree.cli.tables import blank_table, indented, new_console
from onthree.rehearsals.debrief import NOT_MEASURED, Debrief, PhaseLine, what_was_done
from onthree.rehearsals.ladder import rung_recorded
from onthree.techniques.library import bundled_library

_COLUMNS = (("run", 8), ("when", 16), ("what", None), ("stand-in", 9), ("took", 9), ("incidents", 9), ("rung", 4))


def every_run(answer: RunsAnswer) -> None:
    """A row for each run."""
    console = new_console()
    if not answer.runs:
        console.print("No run is recorded. Fill in the sheet Runs and import it.")
        return
    table = blank_table("Runs", *_COLUMNS)
    for one in answer.runs:
        run = one.run
        when = f"{run.day.isoformat()}{f' {run.start:%H:%M}' if run.start else ''}"
        table.add_row(
            run.code,
            when,
            what_was_done(one, bundled_library()) + (f"; set aside: {run.set_aside}" if run.set_aside else ""),
            run.stand_in or "not recorded",
            "not timed" if run.lasted_s is None else f"{run.lasted_s:.0f} s",
            str(len(one.incidents)),
            str(rung_recorded(run, one.recordings).number),
        )
    console.print(table)


def one_run(answer: RunAnswer) -> None:
    """A run with all that was recorded of it."""
    console, page = new_console(), answer.page
    _heading(console, page)
    for name, value in page.facts:
        indented(console, f"{name}: {value}.", "  ")
    _phases(console, page)
    _incidents(console, page)
    console.print("WHO, AND HOW HARD IT WAS (0 to 10)", style="bold")
    for who, role, effort in page.people:
        indented(console, f"{role}: {who}, {'not asked' if effort is None else effort}", "  ")
    console.print("RECORDINGS", style="bold")
    for one in answer.run.recordings:
        begins = "when it began is not known" if one.offset_s is None else f"begins at {one.offset_s:g} s"
        indented(console, f"{one.file}: {one.kind}, {begins}", "  ")
    if not answer.run.recordings:
        console.print("  None.")
    _foot(console, page)


def debrief(answer: DebriefAnswer, out: Path | None) -> None:
    """The three sentences first, then what they rest on."""
    console, page = new_console(), answer.page
    _heading(console, page)
    for number, sentence in enumerate(page.sentences, start=1):
        indented(console, f"{number}. {sentence}", "  ")
    console.print()
    lag = f"{page.lag_value}, {page.lag_said}" if page.lag else f"{NOT_MEASURED}; {page.lag_said}"
    peak = f"{page.peak_value}, {page.peak_said}" if page.peak else f"{NOT_MEASURED}; {page.peak_said}"
    guess = "" if page.run.run.head_guess_deg is None else f"{page.run.run.head_guess_deg:g} degrees, "
    indented(console, f"Start lag, head after body: {lag}.", "")
    if page.later:
        indented(console, f"The same at {page.later_size}: {page.later_value}, {page.later_said}.", "")
    indented(console, f"Head on trunk, at most: {peak}.", "")
    indented(console, f"Head holder's own guess: {guess}{page.guess}.", "")
    for line in page.beside:
        indented(console, f"{line[:1].upper()}{line[1:]}.", "")
    console.print()
    _phases(console, page)
    _incidents(console, page)
    indented(console, answer.said_of_films, "")
    _foot(console, page)
    if out:
        console.print(f"written: {out}")


def _heading(console: Console, page: Debrief) -> None:
    run = page.run.run
    console.print(f"{page.title}, {run.day.isoformat()}", style="bold")
    if run.set_aside:
        indented(console, f"Set aside, does not count: {run.set_aside}.", "  ")


def _phases(console: Console, page: Debrief) -> None:
    console.print("PHASES", style="bold")
    for line in page.phases:
        indented(console, _phase(line), "  ")
    if not page.phases:
        console.print("  None timed.")


def _phase(line: PhaseLine) -> str:
    took = "not done" if line.took_s is None else f"{line.took_s:.1f} s"
    usual = "" if line.usual_s is None else f" (usual {line.usual_s:.0f} s{', a guess' if line.usual_is_guess else ''})"
    return f"{line.start_s:.1f} s {line.title}: {took}{usual}; start lag {line.lag}; peak {line.peak}; seen {line.seen}"


def _incidents(console: Console, page: Debrief) -> None:
    console.print("INCIDENTS", style="bold")
    for line in page.incidents:
        indented(console, f"{line.moment_s:.1f} s {line.kind}{f': {line.more}' if line.more else ''}", "  ")
    if not page.incidents:
        console.print("  None recorded.")


def _foot(console: Console, page: Debrief) -> None:
    rung = page.rung.said
    indented(console, f"{rung[:1].upper()}{rung[1:]}.", "")
    if page.rung.lifts:
        indented(console, f"What would lift it: {'; '.join(page.rung.lifts)}.", "")
    console.print()
    for line in page.cautions:
        indented(console, line, "")
