"""Everything that one command measured, as plain data for JSON."""

from onthree.actions.evening import Tonight
from onthree.actions.measure import CAUTIONS
from onthree.actions.measure_films import FilmsAnswer
from onthree.actions.measured_json import SCHEMA_VERSION, Document, film_document, known
from onthree.kinematics.measures import NAMES


def films_document(answer: FilmsAnswer) -> Document:
    """The measured films, and what could not be measured."""
    return {
        "schema_version": SCHEMA_VERSION,
        "kind": "measured-films",
        "films": [film_document(one) for one in answer.films],
        "tonight": tonight_data(answer.tonight) if answer.tonight else None,
        "kept_with_run": None
        if answer.kept is None
        else {"run": answer.kept.run, "numbers": answer.kept.count, "phases_left_out": list(answer.kept.left_out)},
        "failed": list(answer.failed),
        "written": [str(path) for path in answer.written],
        "replaced": [str(path) for path in answer.replaced],
        "cautions": list(CAUTIONS),
    }


def tonight_data(tonight: Tonight) -> Document:
    """What two runs of one technique differ by anyway, by measure, and the differences beside it."""
    noise = tonight.noise
    return {
        "why_not_known": tonight.why_not or None,
        "differences": list(tonight.differences),
        "measures": {}
        if noise is None
        else {
            name: {
                "holds": known(noise.holds[place]),
                "within_sd": known(noise.within_sd[place]),
                "two_runs_differ_by": known(noise.figure[place]),
            }
            for place, name in enumerate(NAMES)
        },
    }
