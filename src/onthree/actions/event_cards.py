"""The planned options of an event as cards: one for everybody for whom the same is planned."""

from collections.abc import Iterator
from dataclasses import dataclass

from onthree.actions.event_answer import EventAnswer
from onthree.transfers.options import AthleteAnswer
from onthree.transfers.sentence import numbers


@dataclass(frozen=True)
class AlikeAnswers:
    """Athletes found in one position for whom the same is planned, or the same stands in the way."""

    answers: tuple[AthleteAnswer, ...]
    called: str

    @property
    def first(self) -> AthleteAnswer:
        """The answer that stands for all of them."""
        return self.answers[0]


def alike_answers(answer: EventAnswer, position: str) -> Iterator[AlikeAnswers]:
    """The athletes found in a position by what is planned: those without an option first, then the fewest first."""
    groups: dict[object, list[AthleteAnswer]] = {}
    for each in answer.answers[position]:
        groups.setdefault(_planned(each), []).append(each)
    for group in sorted(groups.values(), key=lambda group: (group[0].planned is not None, len(group))):
        yield AlikeAnswers(tuple(group), numbers((each.athlete for each in group), answer.teams))


def _planned(answer: AthleteAnswer) -> object:
    planned = answer.planned
    if planned is None:
        return answer.status, tuple(tuple(cause.do for cause in fix) for fix in answer.fixes)
    devices = tuple(there.gear.code if there else kind for kind, there in planned.items.devices.items())
    vehicle = planned.items.vehicle.vehicle.code if planned.items.vehicle else None
    return answer.status, planned.title, devices, vehicle, planned.from_min, planned.lifters_count
