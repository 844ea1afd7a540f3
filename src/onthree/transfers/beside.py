"""What stands beside the options: done around every handling; and what local protocol allows, never ranked."""

from dataclasses import dataclass

from onthree.programme.records import MedicalOrder
from onthree.techniques.technique import Technique
from onthree.transfers.options import OptionsEngine
from onthree.transfers.situation import holds


@dataclass(frozen=True)
class LocalProtocol:
    """A technique that no option has, the order of medical direction that allows it, and under which conditions."""

    technique: Technique
    order: MedicalOrder

    @property
    def conditions(self) -> tuple[str, ...]:
        """The conditions of the technique's own file, then those of the order."""
        return (*(one.says for one in self.technique.condition), *filter(None, [self.order.conditions]))

    @property
    def sentence(self) -> str:
        """All of it, and that it is no plan."""
        only = "; ".join(self.conditions) or "as medical direction says"
        signed = f"signed by {self.order.signer}, {self.order.signed_on.isoformat()}"
        return f"Only under local protocol, never planned here: {self.technique.title} ({signed}), only if: {only}."


def around_every_handling(engine: OptionsEngine) -> tuple[str, ...]:
    """What is done before and after every handling, as sentences."""
    return tuple(
        f"Before and after every handling: {technique.title.lower()} ({_does(technique)})."
        for technique in engine.library.techniques
        if technique.accompanies
    )


def _does(technique: Technique) -> str:
    return ", ".join(role.does for role in technique.role)


def under_local_protocol(engine: OptionsEngine) -> tuple[LocalProtocol, ...]:
    """The techniques that are never ranked and that medical direction signed for the day of the event."""
    orders = engine.programme.medical_orders.values()
    return tuple(
        LocalProtocol(technique, order)
        for technique in engine.library.techniques
        for order in orders
        if not technique.is_ranked and order.about == technique.id and holds(order, engine.event.day)
    )


def beside_options(engine: OptionsEngine) -> tuple[str, ...]:
    """Everything that stands beside the options of an event, as sentences."""
    return (*around_every_handling(engine), *(one.sentence for one in under_local_protocol(engine)))
