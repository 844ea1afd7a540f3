"""The JSON Schema of technique files that editors read is the one the loader checks by."""

import json

from onthree.sources import DATA
from onthree.techniques.library import technique_schema


def test_the_written_schema_is_current() -> None:
    written = (DATA / "schema" / "technique.schema.json").read_text(encoding="utf-8")

    assert json.loads(written) == technique_schema(), "run: make docs"
