"""A line on the terminal that says how much of a film is done, and how long the rest takes."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from onthree.capture.progress import Listener
    from onthree.capture.progress import Progress as Step


@contextmanager
def progress_line(is_shown: bool) -> Iterator["Listener | None"]:
    """Somebody to tell how far it is, who shows it; nobody away from a terminal."""
    if not is_shown:
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn

    columns = (TextColumn("{task.description}"), BarColumn(), TextColumn("{task.fields[left]}"))
    with Progress(*columns, console=Console(stderr=True), transient=True) as shown:
        task = shown.add_task("reading", left="")

        def told(step: "Step") -> None:
            left = f"{step.done_s:.0f} s done" + ("" if step.left_s is None else f", {step.left_s:.0f} s left")
            shown.update(task, description=step.doing, completed=step.done_s, total=step.of_s, left=left)

        yield told
