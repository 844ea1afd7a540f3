"""Looks at a few seconds of film before the runs of an evening, and says what to mend."""

from pathlib import Path
from typing import Any

from onthree.capture.camera_file import KnownCamera
from onthree.capture.preflight import Preflight, preflight
from onthree.capture.rig import read_rig

CAUTION = "This says whether a film can be measured, nothing about the handling; spotters and a dummy come first."


def preflight_film(path: Path, rig: Path, camera: KnownCamera | None = None) -> Preflight:
    """Look at a film or photo with a rig file, and a camera where one is known.

    Raises FilmError or RigError with every problem of the file.
    """
    return preflight(path, read_rig(rig), camera)


def preflight_document(path: Path, found: Preflight) -> dict[str, Any]:
    """The preflight as plain data for JSON."""
    return {
        "schema_version": 1,
        "kind": "preflight",
        "file": path.name,
        "is_stopped": found.is_stopped,
        "checks": [
            {"name": check.name, "state": check.state, "found": check.found, "do": check.do} for check in found.checks
        ],
        "questions": list(found.questions),
        "cautions": [CAUTION],
    }
