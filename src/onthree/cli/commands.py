"""The commands: parse, act, print. Exit 0: nothing to tell; 1: something to tell before start; 2: bad input."""

from datetime import date
from importlib.metadata import version
from pathlib import Path
from typing import Annotated, Any

import typer

from onthree.cli.film_commands import film_app
from onthree.cli.kit_commands import kit_app
from onthree.cli.manners import (
    FINE,
    SOMETHING_TO_TELL,
    AsJson,
    Folder,
    On,
    day_of,
    open_store,
    refuse,
    refusing,
    show,
    use_folder,
    who_types,
)
from onthree.cli.run_commands import run_app
from onthree.cli.user_commands import token_app, user_app

app = typer.Typer(
    name="onthree",
    help="For every athlete, with the hands and gear really there: from the ground to the hospital stretcher.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
app.add_typer(film_app)
app.add_typer(kit_app)
app.add_typer(run_app)
app.add_typer(user_app)
app.add_typer(token_app)

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
    use_folder(where)
    with refusing():
        prepared = prepare_demo(where)
    show(as_json, "event_check", prepared.answer, lambda: demo_tables.demo(prepared))
    if serve_after:
        _serve(PORT, DEMO_TODAY, as_json)


@app.command(epilog="Example: onthree serve --port 8013")
def serve(
    folder: Folder = None,
    port: Annotated[int, typer.Option(help="Port on this machine.")] = PORT,
    on: On = None,
    lan: Annotated[bool, typer.Option("--lan", help="Serve the local network over https; everybody signs in.")] = False,
    name: Annotated[
        list[str] | None, typer.Option(help="With --lan: another name or address of this machine; several times.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Serve the pages on this machine, or on the local network (Ctrl-C ends)."""
    open_store(folder)
    today = day_of(on) if on else None
    if lan:
        from onthree.cli.lan_serving import serve_lan

        serve_lan(port, today, tuple(name or ()), as_json)
    else:
        _serve(port, today, as_json)


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

    open_store(folder)
    with refusing():
        result = import_workbook(workbook, day_of(on), is_preview=preview, by=who_types())
    show(as_json, "import_result", result, lambda: tables.imported(result))


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

    with refusing():
        if template:
            export_template(workbook, is_csv=csv)
        else:
            open_store(folder)
            export_workbook(workbook, day_of(on), is_csv=csv)
    show(as_json, "export_result", workbook, lambda: typer.echo(f"written: {workbook}"))


@app.command(epilog="Example: onthree check next")
def check(event: EventCode = "next", folder: Folder = None, on: On = None, as_json: AsJson = False) -> None:
    """What to tell, what to fix, what nobody knows."""
    from onthree.cli import tables

    answer = _answer(folder, event, on)
    show(as_json, "event_check", answer, lambda: tables.check(answer))
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
    with refusing():
        if athlete:
            who = athlete_at(answer, athlete)
            found = tuple(one for one in answers_of(answer, who) if one.position == position)
        if why_technique:
            technique = technique_called(why_technique)
            shown = found if athlete else found[:1]
            show(
                as_json,
                "option_comparison",
                answer,
                lambda: transfer_tables.why_technique(answer, shown, technique),
                shown,
                technique,
            )
            raise typer.Exit(FINE)
    show(as_json, "event_options", answer, lambda: tables.options(answer, found, in_full=bool(athlete)), found)
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
    with refusing():
        found = answers_of(answer, athlete_at(answer, athlete))
    show(as_json, "event_options", answer, lambda: tables.why(answer, found), found)
    raise typer.Exit(FINE if all(one.planned for one in found) else SOMETHING_TO_TELL)


@app.command(epilog="Example: onthree lift E-1 52")
def lift(event: EventCode, athlete: AthleteCode, folder: Folder = None, on: On = None, as_json: AsJson = False) -> None:
    """How the lift of one athlete would be shared, device by device."""
    from onthree.actions.event_answer import athlete_at
    from onthree.actions.lift_answer import lift_answer
    from onthree.cli import lift_tables

    answer = _answer(folder, event, on)
    with refusing():
        found = lift_answer(answer, athlete_at(answer, athlete))
    show(as_json, "shared_lifts", found, lambda: lift_tables.lift(found))
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

    use_folder(folder)
    answer = life_first_answer(day_of(on), is_open=False)
    if page is None:
        show(as_json, "life_first", answer, lambda: life_first_tables.life_first(answer))
        return
    with refusing():
        found = answer.page(page)
    show(as_json, "life_first", answer, lambda: life_first_tables.life_first_page(answer, found), found)


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

    open_store(folder)
    with refusing():
        found = coverage_answer(asked, day_of(on), tuple(position or FOUND_POSITIONS))
    show(as_json, "coverage", found, lambda: transfer_tables.coverage(found))
    raise typer.Exit(SOMETHING_TO_TELL if found.stuck_count or found.held_count else FINE)


@app.command(epilog="Example: onthree agreements next")
def agreements(event: EventCode = "next", folder: Folder = None, on: On = None, as_json: AsJson = False) -> None:
    """What was settled with the ambulance agencies, what clashes, what costs a handling."""
    from onthree.actions.agreements_answer import agreements_answer
    from onthree.cli import transfer_tables

    open_store(folder)
    with refusing():
        found = agreements_answer(event, day_of(on))
    show(as_json, "agreements", found, lambda: transfer_tables.agreements(found))
    raise typer.Exit(SOMETHING_TO_TELL if found.clashes else FINE)


@app.command(epilog="Example: onthree sentence next")
def sentence(event: EventCode = "next", folder: Folder = None, on: On = None, as_json: AsJson = False) -> None:
    """The sentence to say at the medical time-out."""
    from onthree.cli import tables

    answer = _answer(folder, event, on)
    show(as_json, "event_sentences", answer, lambda: tables.sentence(answer))
    raise typer.Exit(SOMETHING_TO_TELL if answer.has_something_to_tell else FINE)


def _answer(folder: Path | None, event: str, on: str | None, what_if: Any = None) -> Any:
    from onthree.actions.event_answer import answer_event

    open_store(folder)
    with refusing():
        return answer_event(event, day_of(on), what_if)


def _serve(port: int, today: date | None, as_json: bool) -> None:
    from onthree.actions.serving import page_server
    from onthree.actions.working import beside

    with refusing():
        server = page_server(HOST, port, today)
    address = f"http://{HOST}:{port}/"
    show(as_json, "serving", address, lambda: typer.echo(f"\nServing on {address}  (Ctrl-C ends)"))
    with beside():
        server.run()


def _position(position: str) -> None:
    from onthree.techniques.state import POSITIONS

    if position not in POSITIONS:
        refuse(f"--position: {position!r} given, expected one of: {', '.join(POSITIONS)}")
