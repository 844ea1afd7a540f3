"""Hands: whether the people there, and the people coming, can fill the roles of a technique at the same time."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from onthree.techniques.technique import Role, Technique
from onthree.techniques.verdict import Verdict


@dataclass(frozen=True)
class Hand:
    """One person who can help, present from a minute after the call [min].

    ``is_recorded`` is False where nobody wrote down what they can do: any skill but those named is then unknown.
    """

    code: str
    skills: frozenset[str]
    is_recorded: bool
    is_lay: bool
    is_fit: bool | None
    from_min: int
    vehicle: str = ""
    """Code of the ambulance this person comes with."""
    is_certain: bool = True
    """False for somebody who may not be there, such as the crew of an ambulance whose number nobody recorded."""

    current_in: frozenset[str] | None = None
    """Skills in which this person was checked off not too long ago; None where nobody's check-offs are recorded."""

    def fills(self, role: Role) -> Verdict:
        """Whether this person can take the role, by skill and fitness to lift."""
        is_there = Verdict.OK if self.is_certain else Verdict.UNKNOWN
        return max(is_there, self._has_skill(role), self._can_lift(role))

    def _has_skill(self, role: Role) -> Verdict:
        if role.lay_allowed:
            return Verdict.OK
        if self.is_lay or (self.is_recorded and role.skill not in self.skills):
            return Verdict.NO
        return Verdict.OK if role.skill in self.skills else Verdict.UNKNOWN

    def _can_lift(self, role: Role) -> Verdict:
        if role.load_model == "none" or self.is_fit:
            return Verdict.OK
        return Verdict.UNKNOWN if self.is_fit is None else Verdict.NO


@dataclass(frozen=True)
class Crew:
    """How the roles of a technique can be filled: verdict, earliest minute [min], and what is short at best."""

    verdict: Verdict
    from_min: int
    least_count: int
    usual_count: int
    there_count: int
    short_of: tuple[tuple[str, int], ...]
    """Roles that stay open with everyone who comes, and by how many people."""


def roles_of(technique: Technique, lifters_count: int | None = None) -> tuple[Role, ...]:
    """The roles staffed at the event; ``lifters_count`` replaces the number of a role that depends on the load."""
    return tuple(
        _with_count(role, lifters_count) if role.count_by_load and lifters_count is not None else role
        for role in technique.role
        if role.staffed_by == "event"
    )


def crew_for(roles: Sequence[Role], hands: Sequence[Hand]) -> Crew:
    """The earliest minute at which the people there fill the least number of every role, each person in one role.

    Ok as soon as people known to be able fill every role; else unknown as soon as they might; else no.
    """
    places = [role for role in roles for _ in range(role.least)]
    best: Crew | None = None
    for minute in sorted({0, *(hand.from_min for hand in hands)}):
        there = [hand for hand in hands if hand.from_min <= minute]
        verdict = _verdict(places, there)
        if best is None or verdict < best.verdict:
            best = _crew(verdict, minute, roles, there, ())
        if verdict is Verdict.OK:
            break
    assert best is not None
    if best.verdict is Verdict.NO:
        return _crew(Verdict.NO, 0, roles, list(hands), _short_of(places, hands))
    return best


def _verdict(places: Sequence[Role], hands: Sequence[Hand]) -> Verdict:
    for worst_allowed in (Verdict.OK, Verdict.UNKNOWN):
        if len(_filled(places, hands, worst_allowed)) == len(places):
            return worst_allowed
    return Verdict.NO


def _filled(places: Sequence[Role], hands: Sequence[Hand], worst_allowed: Verdict) -> set[int]:
    """Indices of the places a largest matching of people to places fills (augmenting paths)."""
    person_in: dict[int, int] = {}
    place_of: dict[int, int] = {}

    def find(place: int, tried: set[int]) -> bool:
        for person, hand in enumerate(hands):
            if person in tried or hand.fills(places[place]) > worst_allowed:
                continue
            tried.add(person)
            if person not in place_of or find(place_of[person], tried):
                place_of[person], person_in[place] = place, person
                return True
        return False

    return {place for place in range(len(places)) if find(place, set())}


def _short_of(places: Sequence[Role], hands: Sequence[Hand]) -> tuple[tuple[str, int], ...]:
    filled = _filled(places, hands, Verdict.UNKNOWN)
    open_roles = [role.id for place, role in enumerate(places) if place not in filled]
    return tuple((role, open_roles.count(role)) for role in dict.fromkeys(open_roles))


def _crew(
    verdict: Verdict, from_min: int, roles: Iterable[Role], there: Sequence[Hand], short_of: tuple[tuple[str, int], ...]
) -> Crew:
    counted = tuple(roles)
    least = sum(role.least for role in counted)
    return Crew(verdict, from_min, least, sum(role.count for role in counted), len(there), short_of)


def _with_count(role: Role, count: int) -> Role:
    return replace(role, count=count, least=count)
