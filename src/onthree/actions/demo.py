"""Prepares the invented conference: writes its workbook, imports it like anybody's, answers for its next event."""

from dataclasses import dataclass
from pathlib import Path

from onthree.actions.event_answer import NEXT, EventAnswer, answer_event
from onthree.actions.opening import open_programme_store
from onthree.actions.workbooks import import_workbook
from onthree.demo.conference import DEMO_TODAY, write_conference_workbook

WORKBOOK = "invented-conference.xlsx"


@dataclass(frozen=True)
class DemoResult:
    """Where the demo lies, what was imported, and the answer for its next event."""

    folder: Path
    workbook: Path
    counts: str
    answer: EventAnswer


def prepare_demo(folder: Path) -> DemoResult:
    """Write and import the workbook of the invented conference; a second time changes nothing."""
    folder.mkdir(parents=True, exist_ok=True)
    workbook = folder / WORKBOOK
    workbook.write_bytes(write_conference_workbook())
    open_programme_store()
    result = import_workbook(workbook, DEMO_TODAY, is_preview=False, by="demo")
    return DemoResult(folder, workbook, result.changes.summary, answer_event(NEXT, DEMO_TODAY))
