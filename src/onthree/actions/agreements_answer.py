"""What the agreements with the ambulance agencies do to one event: what holds, what clashes, what each one costs."""

from dataclasses import dataclass
from datetime import date

from onthree.actions.event_answer import event_programme
from onthree.programme.programme import Programme
from onthree.programme.records import PreAgreement
from onthree.techniques.library import bundled_library
from onthree.transfers.agreements import Clash, Cost, clashes, costs
from onthree.transfers.options import OptionsEngine, engine_for
from onthree.transfers.situation import agreements_at


@dataclass(frozen=True)
class AgreementsAnswer:
    """The rows of the agencies that may come, and what they do."""

    engine: OptionsEngine
    rows: tuple[PreAgreement, ...]
    clashes: tuple[Clash, ...]
    costs: tuple[Cost, ...]

    @property
    def programme(self) -> Programme:
        """What is known for the event."""
        return self.engine.programme


def agreements_answer(event_code: str, on: date) -> AgreementsAnswer:
    """The agreements at an event by code, or the next one. Raises NotFoundError."""
    programme, event = event_programme(event_code, on)
    engine = engine_for(programme, event, bundled_library())
    coming = {there.agency.code for there in engine.situation.vehicles}
    rows = tuple(row for row in agreements_at(programme, event) if row.agency in coming)
    return AgreementsAnswer(engine, rows, clashes(engine), costs(engine))
