"""Where an option ends: on the hospital stretcher, airway reachable, and arriving as the agreements ask."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache

from onthree.techniques.state import CARRYING_DEVICES, Conditions, State, meets

AIRWAY_REACHABLE: tuple[Conditions, ...] = (
    {"mask": ("off", "not worn")},
    {"equipment": ("helmet off, head padded", "off", "not worn", "not worn, torso not padded")},
)
ARRIVALS: Mapping[str, Conditions] = {
    "device in": {"device": CARRYING_DEVICES},
    "device out": {"device": ("none",)},
    "equipment on": {"equipment": ("on", "not worn", "not worn, torso not padded")},
    "equipment off": {"equipment": ("off", "not worn", "not worn, torso not padded")},
    "collar on": {"collar": ("on",)},
    "head secured": {"head": ("secured",)},
}
"""How an athlete may have to arrive, in the words of an agreement that requires it."""

_TITLES = {
    "device in": "carrying device still under the athlete",
    "device out": "carrying device out on the cot",
    "head secured": "head still secured",
}


@dataclass(frozen=True, eq=False)
class Goal:
    """Where an option ends: an identifier, words, what the final state must be, and of which conditions one holds."""

    id: str
    title: str
    conditions: Conditions
    any_of: tuple[Conditions, ...] = ()

    def is_reached_in(self, state: State) -> bool:
        """Whether an option may end in this state."""
        return meets(state, self.conditions) and (not self.any_of or any(meets(state, one) for one in self.any_of))

    @property
    def is_contradictory(self) -> bool:
        """Whether no state at all can meet it: two agreements that ask for opposite things."""
        return not all(self.conditions.values())


def goal_of(arrivals: Iterable[str]) -> Goal:
    """The goal of arriving in all of these ways; built once for each set of them. Raises KeyError for unknown words."""
    wanted = set(arrivals)
    if unknown := sorted(wanted - set(ARRIVALS)):
        raise KeyError(f"{', '.join(unknown)} given, expected one of: {', '.join(ARRIVALS)}")
    return _goal_of(tuple(word for word in ARRIVALS if word in wanted))


@cache
def _goal_of(arrivals: tuple[str, ...]) -> Goal:
    conditions: dict[str, tuple[str, ...]] = {"place": ("hospital stretcher",), "position": ("supine",)}
    for word in arrivals:
        for name, allowed in ARRIVALS[word].items():
            before = conditions.get(name, allowed)
            conditions[name] = tuple(value for value in before if value in allowed)
    titles = ("on the hospital stretcher", *(_TITLES.get(word, word) for word in arrivals))
    return Goal("+".join(word.replace(" ", "-") for word in arrivals), ", ".join(titles), conditions, AIRWAY_REACHABLE)


def read_goal(text: str) -> Goal:
    """Read ``device-out`` or ``device-in+equipment-off``. Raises KeyError naming the words that are known."""
    return goal_of(word.strip().replace("-", " ") for word in text.split("+"))


DEVICE_IN, DEVICE_OUT = goal_of(["device in"]), goal_of(["device out"])
GOALS = {goal.id: goal for goal in (DEVICE_IN, DEVICE_OUT)}
"""The two goals that are offered by name."""
