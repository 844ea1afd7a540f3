"""Coverage of an event, of a venue's coming events, or of the season: which situations have an option."""

from dataclasses import dataclass
from datetime import date

from onthree.actions.event_answer import NEXT, NotFoundError, event_programme
from onthree.programme.programme import Programme, Scope
from onthree.techniques.library import bundled_library
from onthree.techniques.state import POSITIONS
from onthree.transfers.coverage import Closed, Coverage, coverage
from onthree.transfers.options import OptionsEngine, engine_for

SEASON = "season"


@dataclass(frozen=True)
class CoverageAnswer:
    """The coverage of some events, and the engine of each."""

    programme: Programme
    title: str
    covered: tuple[tuple[OptionsEngine, Coverage], ...]

    @property
    def situations_count(self) -> int:
        """Every found position of every athlete at every event."""
        return sum(each.situations_count for _, each in self.covered)

    @property
    def stuck_count(self) -> int:
        """Situations without an option that is known to be possible."""
        return sum(len(each.stuck) for _, each in self.covered)

    @property
    def held_count(self) -> int:
        """Situations in which the athlete must be held until more is there."""
        return sum(each.hold_count for _, each in self.covered)

    @property
    def closed_by(self) -> tuple[Closed, ...]:
        """The sets of causes that account for most situations, over all events."""
        counted: dict[frozenset[str], Closed] = {}
        for _, each in self.covered:
            for one in each.closed_by:
                key = frozenset(cause.id for cause in one.causes)
                before = counted[key].situations_count if key in counted else 0
                counted[key] = Closed(one.causes, before + one.situations_count)
        return tuple(sorted(counted.values(), key=lambda one: -one.situations_count))


def coverage_answer(asked: str, on: date, positions: tuple[str, ...]) -> CoverageAnswer:
    """The coverage of what was asked for: an event's code or next, a venue's code, or season.

    Raises NotFoundError for a code that neither an event nor a venue has, and for an unknown position.
    """
    if unknown := [position for position in positions if position not in POSITIONS]:
        raise NotFoundError(f"position {unknown[0]!r} given, expected one of: {', '.join(POSITIONS)}")
    programme, title, codes = _asked(asked, on)
    engines = [engine_for(programme, programme.events[code], bundled_library()) for code in codes]
    return CoverageAnswer(programme, title, tuple((engine, coverage(engine, positions)) for engine in engines))


def _asked(asked: str, on: date) -> tuple[Programme, str, tuple[str, ...]]:
    from onthree.store.load import load_programme

    if asked == SEASON:
        programme = load_programme(on, Scope("all"))
        return programme, "the season from here on", tuple(event.code for event in programme.coming_events())
    try:
        programme, event = event_programme(asked, on)
        return programme, event.name, (event.code,)
    except NotFoundError as no_event:
        if asked == NEXT:
            raise
        try:
            programme = load_programme(on, Scope("venue", asked))
        except LookupError:
            raise NotFoundError(f"{no_event}; a venue's code or {SEASON} will do too") from None
    return programme, programme.venues[asked].name, tuple(event.code for event in programme.coming_events())
