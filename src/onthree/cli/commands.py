"""The commands: parse, act, print. Exit 0: nothing to tell; 1: something to tell before start; 2: bad input."""

import json
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from importlib.metadata import version
from pathlib import Path
from typing import Annotated, Any, NoReturn

import typer

app = typer.Typer(
    name="onthree",
    help="For every athlete, with the hands and gear really there: from the ground to the hospital stretcher.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)

FINE, SOMETHING_TO_TELL, BAD_INPUT = 0, 1, 2

Folder = Annotated[
    Path | None,
    typer.Option(help="Folder of the store (default: $ONTHREE_FOLDER, else ./onthree-data).", show_default=False),
]
On = Annotated[str | None, typer.Option(metavar="DATE", help="Judge on this day, such as 2026-11-25 (default: today).")]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON instead of tables.")]
EventCode = Annotated[str, typer.Argument(metavar="EVENT", help="Code of the event, or next.")]
AthleteCode = Annotated[str, typer.Argument(metavar="ATHLETE", help="Code or jersey number.")]
Surface = Annotated[str | None, typer.Option(help="Another surface, such as wet-turf.")]
Hands = Annotated[
    str | None, typer.Option(help="Other hands than planned: 3,+2@8min is three now, two more in 8 minutes.")
]
GoalId = Annotated[
    str | None, typer.Option("--goal", help="device-in or device-out (default: what the agencies agreed).")
]
Position = Annotated[str, typer.Option(help="How the athlete is found: supine, prone, side or sitting.")]
HOST, PORT = "127.0.0.1", 8013


def main() -> None:
    """Run the command line."""
    app(prog_name="onthree")


def _print_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"onthree {version('onthree')}")
        raise typer.Exit()


@app.callback()
def _onthree(
    show_version: Annotated[
        bool, typer.Option("--version", callback=_print_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """From the ground to the hospital stretcher: which option, with these hands, and how we know."""


@app.command(epilog="Example: onthree demo --no-serve")
def demo(
    folder: Folder = None,
    serve_after: Annotated[bool, typer.Option("--serve/--no-serve", help="Serve the pages after the answer.")] = True,
    as_json: AsJson = False,
) -> None:
    """The invented conference: set up, answer, serve."""
    from onthree.actions.demo import prepare_demo
    from onthree.cli import demo_tables
    from onthree.demo.conference import DEMO_TODAY

    where = folder or Path("onthree-demo")
    _use(where)
    with _refusing():
        prepared = prepare_demo(where)
    _show(as_json, "event_check", prepared.answer, lambda: demo_tables.demo(prepared))
    if serve_after:
        _serve(PORT, DEMO_TODAY, as_json)


@app.command(epilog="Example: onthree serve --port 8013")
def serve(
    folder: Folder = None,
    port: Annotated[int, typer.Option(help="Port on this machine.")] = PORT,
    on: On = None,
    as_json: AsJson = False,
) -> None:
    """Serve the pages on this machine (Ctrl-C ends)."""
    _open(folder)
    _serve(port, _day(on) if on else None, as_json)


@app.command("import", epilog="Example: onthree import conference.xlsx --preview")
def import_(
    workbook: Annotated[
        Path,
        typer.Argument(
            help="An .xlsx or .ods workbook, or a folder of .csv files, or one of them, each named after its sheet; "
            "onthree export --template makes blank ones."
        ),
    ],
    preview: Annotated[bool, typer.Option("--preview", help="Show what would change and save nothing.")] = False,
    folder: Folder = None,
    on: On = None,
    as_json: AsJson = False,
) -> None:
    """Import a workbook or CSV files, all or nothing."""
    from onthree.actions.workbooks import import_workbook
    from onthree.cli import tables

    _open(folder)
    with _refusing():
        result = import_workbook(workbook, _day(on), is_preview=preview, by=_who())
    _show(as_json, "import_result", result, lambda: tables.imported(result))


@app.command(epilog="Example: onthree export conference.xlsx   or: onthree export blank.xlsx --template")
def export(
    workbook: Annotated[Path, typer.Argument(help="Where to write the workbook, or the folder of CSV files.")],
    template: Annotated[bool, typer.Option("--template", help="Write the blank workbook with its guide.")] = False,
    csv: Annotated[bool, typer.Option("--csv", help="Write a folder with a CSV file for each sheet.")] = False,
    folder: Folder = None,
    on: On = None,
    as_json: AsJson = False,
) -> None:
    """Write everything as a workbook or as CSV files, or the blank ones."""
    from onthree.actions.workbooks import export_template, export_workbook

    with _refusing():
        if template:
            export_template(workbook, is_csv=csv)
        else:
            _open(folder)
            export_workbook(workbook, _day(on), is_csv=csv)
    _show(as_json, "export_result", workbook, lambda: typer.echo(f"written: {workbook}"))


@app.command(epilog="Example: onthree check next")
def check(event: EventCode = "next", folder: Folder = None, on: On = None, as_json: AsJson = False) -> None:
    """What to tell, what to fix, what nobody knows."""
    from onthree.cli import tables

    answer = _answer(folder, event, on)
    _show(as_json, "event_check", answer, lambda: tables.check(answer))
    raise typer.Exit(SOMETHING_TO_TELL if answer.has_something_to_tell else FINE)


@app.command(epilog="Example: onthree options E-1 --athlete 52 --position prone --surface wet-turf --hands 3,+2@8min")
def options(
    event: EventCode = "next",
    athlete: Annotated[
        str | None, typer.Option(help="Code or jersey number of one athlete, for every option in full.")
    ] = None,
    position: Position = "supine",
    surface: Surface = None,
    hands: Hands = None,
    goal: GoalId = None,
    alignment: Annotated[
        str | None, typer.Option(help="How the head is found: neutral (default), not-neutral, not-realignable.")
    ] = None,
    place: Annotated[
        str | None,
        typer.Option(help="Where the athlete lies: ground (default), or obstacle: against boards or a fence."),
    ] = None,
    why_technique: Annotated[
        str | None,
        typer.Option("--why", metavar="TECHNIQUE", help="Compare the planned option with the best one that has this."),
    ] = None,
    folder: Folder = None,
    on: On = None,
    as_json: AsJson = False,
) -> None:
    """Options athlete by athlete, or all of one athlete."""
    from onthree.actions.event_answer import WhatIf, answers_of, athlete_at, technique_called
    from onthree.cli import tables, transfer_tables

    _position(position)
    answer = _answer(folder, event, on, WhatIf(surface, hands, goal, position, alignment, place))
    found = answer.answers[position]
    with _refusing():
        if athlete:
            who = athlete_at(answer, athlete)
            found = tuple(one for one in answers_of(answer, who) if one.position == position)
        if why_technique:
            technique = technique_called(why_technique)
            shown = found if athlete else found[:1]
            _show(
                as_json,
                "option_comparison",
                answer,
                lambda: transfer_tables.why_technique(answer, shown, technique),
                shown,
                technique,
            )
            raise typer.Exit(FINE)
    _show(as_json, "event_options", answer, lambda: tables.options(answer, found, in_full=bool(athlete)), found)
    raise typer.Exit(FINE if all(one.planned for one in found) else SOMETHING_TO_TELL)


@app.command(epilog="Example: onthree why E-1 52")
def why(
    event: EventCode,
    athlete: AthleteCode,
    surface: Surface = None,
    hands: Hands = None,
    goal: GoalId = None,
    folder: Folder = None,
    on: On = None,
    as_json: AsJson = False,
) -> None:
    """Why this option; what blocks; the smallest fixes."""
    from onthree.actions.event_answer import WhatIf, answers_of, athlete_at
    from onthree.cli import tables

    answer = _answer(folder, event, on, WhatIf(surface, hands, goal))
    with _refusing():
        found = answers_of(answer, athlete_at(answer, athlete))
    _show(as_json, "event_options", answer, lambda: tables.why(answer, found), found)
    raise typer.Exit(FINE if all(one.planned for one in found) else SOMETHING_TO_TELL)


@app.command(epilog="Example: onthree lift E-1 52")
def lift(event: EventCode, athlete: AthleteCode, folder: Folder = None, on: On = None, as_json: AsJson = False) -> None:
    """How the lift of one athlete would be shared, device by device."""
    from onthree.actions.event_answer import athlete_at
    from onthree.actions.lift_answer import lift_answer
    from onthree.cli import lift_tables

    answer = _answer(folder, event, on)
    with _refusing():
        found = lift_answer(answer, athlete_at(answer, athlete))
    _show(as_json, "shared_lifts", found, lambda: lift_tables.lift(found))
    raise typer.Exit(FINE if found.is_complete else SOMETHING_TO_TELL)


@app.command("life-first", epilog="Example: onthree life-first arrest")
def life_first(
    page: Annotated[str | None, typer.Argument(metavar="PAGE", help="Identifier of one page, such as arrest.")] = None,
    folder: Folder = None,
    on: On = None,
    as_json: AsJson = False,
) -> None:
    """What comes before every option; works without a store."""
    from onthree.actions.life_first import life_first_answer
    from onthree.cli import life_first_tables

    _use(folder)
    answer = life_first_answer(_day(on), is_open=False)
    if page is None:
        _show(as_json, "life_first", answer, lambda: life_first_tables.life_first(answer))
        return
    with _refusing():
        found = answer.page(page)
    _show(as_json, "life_first", answer, lambda: life_first_tables.life_first_page(answer, found), found)


@app.command(epilog="Example: onthree coverage season")
def coverage(
    asked: Annotated[
        str, typer.Argument(metavar="WHAT", help="Code of an event, next, code of a venue, or season.")
    ] = "next",
    position: Annotated[
        list[str] | None, typer.Option(help="A found position; may be given several times (default: supine and prone).")
    ] = None,
    folder: Folder = None,
    on: On = None,
    as_json: AsJson = False,
) -> None:
    """Which situations have an option, after how long a hold, and what closes the others."""
    from onthree.actions.coverage_answer import coverage_answer
    from onthree.cli import transfer_tables
    from onthree.techniques.state import FOUND_POSITIONS

    _open(folder)
    with _refusing():
        found = coverage_answer(asked, _day(on), tuple(position or FOUND_POSITIONS))
    _show(as_json, "coverage", found, lambda: transfer_tables.coverage(found))
    raise typer.Exit(SOMETHING_TO_TELL if found.stuck_count or found.held_count else FINE)


@app.command(epilog="Example: onthree agreements next")
def agreements(event: EventCode = "next", folder: Folder = None, on: On = None, as_json: AsJson = False) -> None:
    """What was settled with the ambulance agencies, what clashes, what costs a handling."""
    from onthree.actions.agreements_answer import agreements_answer
    from onthree.cli import transfer_tables

    _open(folder)
    with _refusing():
        found = agreements_answer(event, _day(on))
    _show(as_json, "agreements", found, lambda: transfer_tables.agreements(found))
    raise typer.Exit(SOMETHING_TO_TELL if found.clashes else FINE)


@app.command(epilog="Example: onthree sentence next")
def sentence(event: EventCode = "next", folder: Folder = None, on: On = None, as_json: AsJson = False) -> None:
    """The sentence to say at the medical time-out."""
    from onthree.cli import tables

    answer = _answer(folder, event, on)
    _show(as_json, "event_sentences", answer, lambda: tables.sentence(answer))
    raise typer.Exit(SOMETHING_TO_TELL if answer.has_something_to_tell else FINE)


def _answer(folder: Path | None, event: str, on: str | None, what_if: Any = None) -> Any:
    from onthree.actions.event_answer import answer_event

    _open(folder)
    with _refusing():
        return answer_event(event, _day(on), what_if)


def _show(as_json: bool, document: str, result: Any, table: Callable[[], None], *more: Any) -> None:
    if not as_json:
        table()
        return
    from onthree.actions import as_json as documents

    typer.echo(json.dumps(getattr(documents, document)(result, *more), indent=2, ensure_ascii=False))


def _use(folder: Path | None) -> None:
    if folder:
        os.environ["ONTHREE_FOLDER"] = str(folder)


def _open(folder: Path | None) -> None:
    from onthree.actions.opening import open_programme_store

    _use(folder)
    with _refusing():
        open_programme_store()


def _serve(port: int, today: date | None, as_json: bool) -> None:
    from onthree.actions.serving import page_server

    with _refusing():
        server = page_server(HOST, port, today)
    address = f"http://{HOST}:{port}/"
    _show(as_json, "serving", address, lambda: typer.echo(f"\nServing on {address}  (Ctrl-C ends)"))
    server.run()


def _day(on: str | None) -> date:
    if on is None:
        return datetime.now(UTC).astimezone().date()
    try:
        return date.fromisoformat(on)
    except ValueError:
        _refuse(f"--on: {on!r} given, a day such as 2026-11-25 expected")


def _position(position: str) -> None:
    from onthree.techniques.state import POSITIONS

    if position not in POSITIONS:
        _refuse(f"--position: {position!r} given, expected one of: {', '.join(POSITIONS)}")


def _who() -> str:
    return os.environ.get("USER") or os.environ.get("USERNAME") or "command line"


def _refuse(message: str) -> NoReturn:
    typer.echo(message, err=True)
    raise typer.Exit(BAD_INPUT)


@contextmanager
def _refusing() -> Iterator[None]:
    """Turn what a person typed wrong into a message and exit 2; anything else is a fault and shows itself."""
    try:
        yield
    except (ValueError, LookupError, OSError) as error:
        if isinstance(error, (KeyError, UnicodeError)):
            raise
        sys.stderr.write(f"{error}\n")
        raise typer.Exit(BAD_INPUT) from None
