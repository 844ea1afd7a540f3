"""Prepares the invented conference: writes its workbook, imports it like anybody's, answers for some of its events."""

import shutil
from dataclasses import dataclass
from pathlib import Path

from onthree.actions.agreements_answer import AgreementsAnswer, agreements_answer
from onthree.actions.event_answer import NEXT, EventAnswer, answer_event
from onthree.actions.opening import open_programme_store
from onthree.actions.workbooks import import_workbook
from onthree.demo.conference import CLASHING, DEMO_TODAY, WAITING, write_conference_workbook
from onthree.demo.rehearsal_films import rehearsal_folder
from onthree.transfers.coverage import Coverage, coverage

WORKBOOK = "invented-conference.xlsx"
REHEARSAL = "rehearsal"
"""The folder of the rendered films of its rehearsal, below that of the demo."""


@dataclass(frozen=True)
class DemoResult:
    """Where the demo lies, what was imported, and the answers for its events.

    ``answer`` and ``covered`` are of the next event, ``clashing`` of one with a clash of agreements, ``waiting`` of
    one where an athlete is held until more people are there.
    """

    folder: Path
    workbook: Path
    counts: str
    answer: EventAnswer
    covered: Coverage
    clashing: AgreementsAnswer
    waiting: EventAnswer


def prepare_demo(folder: Path) -> DemoResult:
    """Write and import the workbook of the invented conference, and put its films there; again changes nothing."""
    folder.mkdir(parents=True, exist_ok=True)
    shutil.copytree(rehearsal_folder(), folder / REHEARSAL, dirs_exist_ok=True)
    workbook = folder / WORKBOOK
    workbook.write_bytes(write_conference_workbook())
    open_programme_store()
    result = import_workbook(workbook, DEMO_TODAY, is_preview=False, by="demo")
    answer = answer_event(NEXT, DEMO_TODAY)
    return DemoResult(
        folder,
        workbook,
        result.changes.summary,
        answer,
        coverage(answer.engine),
        agreements_answer(CLASHING, DEMO_TODAY),
        answer_event(WAITING, DEMO_TODAY),
    )
