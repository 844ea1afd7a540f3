"""A sheet of labels for gear: the code of each item in print and as a QR code that opens its page."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import segno

from onthree.documents.typeset import pdf_of

COLUMNS, ROWS = 3, 8
LABELS_A_PAGE = COLUMNS * ROWS
_QR_MM = 25.0
_QUIET_CELLS = 4  # the light border a QR code needs, ISO/IEC 18004 (from memory)


@dataclass(frozen=True)
class GearLabel:
    """One label: code, spoken name and kind of the item, and the address of its page."""

    code: str
    name: str
    kind: str
    address: str


def gear_labels_pdf(labels: Sequence[GearLabel], paper: str, on: date, *, is_invented: bool) -> bytes:
    """The labels, so many a page; raises ValueError where there are none."""
    if not labels:
        raise ValueError("no item given, at least one expected: choose other gear")
    pages = [labels[start : start + LABELS_A_PAGE] for start in range(0, len(labels), LABELS_A_PAGE)]
    data = {"paper": paper, "on": on, "is_invented": is_invented, "columns": COLUMNS}
    return pdf_of("gear_labels", data | {"pages": [[_label(each) for each in page] for page in pages]})


def _label(label: GearLabel) -> dict[str, Any]:
    return {"code": label.code, "name": label.name, "kind": label.kind, "address": label.address} | _qr(label.address)


def _qr(address: str) -> dict[str, Any]:
    """The dark cells of the QR code as rectangles [mm], each row's neighbours joined, and the side [mm]."""
    matrix = segno.make(address, error="m", micro=False).matrix
    cell_mm = _QR_MM / (len(matrix) + 2 * _QUIET_CELLS)
    black_mm = []
    for row, cells in enumerate(matrix):
        start = None
        for column, is_dark in enumerate([*cells, 0]):
            if is_dark and start is None:
                start = column
            elif not is_dark and start is not None:
                at_mm = [(each + _QUIET_CELLS) * cell_mm for each in (start, row)]
                black_mm.append([*at_mm, (column - start) * cell_mm, cell_mm])
                start = None
    return {"black_mm": black_mm, "side_mm": _QR_MM}
