"""How one athlete's lift would be shared: on each carrying device at the event, and for reference without one."""

from dataclasses import dataclass

from onthree.actions.event_answer import EventAnswer
from onthree.loads.chain import LoadPart, worn_load
from onthree.loads.limits import PeopleNeeded, ReferenceNumber, people_needed, reference_number
from onthree.loads.log_roll import LogRoll
from onthree.programme.records import Athlete
from onthree.techniques.state import CARRYING_DEVICES
from onthree.transfers.shared_lift import SharedLift, direct_lift_kg, roll_of, shared_lift
from onthree.units import N_PER_KGF


@dataclass(frozen=True)
class LiftAnswer:
    """The shared lifts of one athlete, and the reference number to hold the shares against."""

    event: EventAnswer
    athlete: Athlete
    worn: tuple[LoadPart, ...]
    lifts: tuple[SharedLift, ...]
    direct_kg: tuple[tuple[str, float], ...]
    reference: ReferenceNumber
    roll: LogRoll | None

    @property
    def is_complete(self) -> bool:
        """Whether every device could be computed, and there is one."""
        return bool(self.lifts) and not any(lift.missing for lift in self.lifts)

    def people_by_reference(self, lift: SharedLift) -> PeopleNeeded | None:
        """People who would share the load evenly within the reference number; None where the load is not known."""
        return people_needed(lift.load_kg * float(N_PER_KGF), self.reference.force_n) if lift.load_kg else None


def lift_answer(answer: EventAnswer, athlete: Athlete) -> LiftAnswer:
    """The lifts of an athlete at an event, by the people who are there from the start and said they are fit to lift."""
    programme, situation = answer.programme, answer.engine.situation
    worn = worn_load(athlete, programme.teams[athlete.team], answer.event)
    there = [programme.responders[hand.code] for hand in answer.event.responders if hand.from_min == 0]
    lifters = [responder for responder in there if responder.fit_to_lift]
    devices = (item.gear for kind in CARRYING_DEVICES for item in situation.of_kind(kind))
    reference = reference_number("patient-handling")
    return LiftAnswer(
        answer,
        athlete,
        worn,
        tuple(shared_lift(athlete, worn, device, lifters) for device in devices),
        direct_lift_kg(athlete, worn, answer.event.day),
        reference,
        roll_of(athlete, worn, reference.force_n),
    )
