"""More hands, more gear or a lighter athlete never closes an option; a stricter agreement never opens one;

and taking a known fact away never makes anything possible.
"""

from dataclasses import dataclass, replace

from hypothesis import given, settings
from hypothesis import strategies as st

from onthree.programme.programme import Programme
from onthree.programme.records import Athlete, Gear
from onthree.techniques.library import bundled_library
from onthree.techniques.state import GEAR_KINDS, POSITIONS, SKILLS, SURFACES, WAYS
from onthree.transfers.catalogue import Option
from onthree.transfers.goals import GOALS
from onthree.transfers.hands import Hand
from onthree.transfers.options import OptionsEngine, engine_for
from onthree.transfers.situation import GearThere, Situation, VehicleThere
from onthree.units import Mass, read_mass
from tests.invented import athlete, clean_programme

PROGRAMME = clean_programme()
LIBRARY = bundled_library()
RANKS = ("possible", "unknown", "not possible")
ORDERED = [technique.id for technique in LIBRARY.moves if technique.needs_order]
ANSWERS = ("agreed", "undecided", "refused")

minutes = st.sampled_from((0, 4, 8))
unknown_or = st.none() | st.booleans()
limits = st.none() | st.sampled_from(("250 lb", "350 lb", "500 lb")).map(read_mass)
masses = st.none() | st.integers(100, 480).map(lambda pounds: read_mass(f"{pounds} lb"))


@st.composite
def hands(draw: st.DrawFn) -> Hand:
    skills = draw(st.sets(st.sampled_from(SKILLS)) | st.just(set(SKILLS)))
    return Hand(
        code=draw(st.text("abc", min_size=1, max_size=3)),
        skills=frozenset(skills),
        is_recorded=bool(skills),
        is_lay=draw(st.booleans()) and not skills,
        is_fit=draw(unknown_or),
        from_min=draw(minutes),
    )


@st.composite
def gear(draw: st.DrawFn) -> GearThere:
    kind = draw(st.sampled_from(GEAR_KINDS))
    fits = draw(st.sets(st.sampled_from(("long board", "scoop", "cot"))))
    item = Gear(
        code=f"{kind}-{draw(st.integers(1, 3))}",
        kind=kind,
        name=kind,
        rated_load=draw(limits),
        own_mass=draw(st.none() | st.just(read_mass("8 kg"))),
        attached_mass=draw(st.none() | st.just(read_mass("2 kg"))),
        fits=tuple(fits),
        in_service=draw(unknown_or),
    )
    return GearThere(item, draw(minutes))


@st.composite
def situations(draw: st.DrawFn) -> Situation:
    vehicle = replace(
        PROGRAMME.vehicles["AMB-1"],
        cot_rated_load=draw(limits),
        has_loading_system=draw(unknown_or),
        loading_rated_load=draw(limits),
        attached_mass=draw(st.none() | st.just(read_mass("9 kg"))),
        cot_lifts_itself=draw(unknown_or),
    )
    there = VehicleThere(vehicle, PROGRAMME.agencies["AG-1"], draw(minutes))
    everything = tuple(GearThere(PROGRAMME.gear[code], 0) for code in PROGRAMME.gear)
    items = draw(st.lists(gear(), max_size=6, unique_by=lambda item: item.gear.code))
    answers = draw(
        st.dictionaries(st.sampled_from([t.id for t in LIBRARY.techniques]), st.sampled_from(ANSWERS), max_size=3)
    )
    return Situation(
        hands=tuple(draw(st.lists(hands(), max_size=10))) + tuple(_trained(n) for n in range(draw(st.integers(0, 10)))),
        gear=draw(st.sampled_from((everything, ()))) + tuple(items),
        vehicles=draw(st.sampled_from(((there,), ()))),
        surface=draw(st.none() | st.sampled_from(SURFACES)),
        agreements={("AG-1", technique): answer for technique, answer in answers.items()},
        way=draw(st.sampled_from(WAYS)),
        orders=frozenset(draw(st.sets(st.sampled_from(ORDERED)))),
    )


def _trained(number: int) -> Hand:
    return Hand(f"trained {number}", frozenset(SKILLS), is_recorded=True, is_lay=False, is_fit=True, from_min=0)


athletes = st.builds(
    lambda mass, fastening, equipment: replace(
        athlete("T1-52", 52, None), mass=mass, face_mask=fastening, equipment_mass=equipment
    ),
    masses,
    st.sampled_from(("screws", "quick release", "no face mask", None)),
    st.none() | st.just(read_mass("20 lb")),
)


@dataclass(frozen=True)
class Best:
    """The best status an option reaches with any items, as a rank, and the earliest minute if it is possible."""

    rank: int
    from_min: int


def _engine(situation: Situation, programme: Programme = PROGRAMME) -> OptionsEngine:
    return engine_for(programme, programme.events["E-1"], LIBRARY, situation)


def _best(
    situation: Situation, who: Athlete, position: str, goal: str, programme: Programme = PROGRAMME
) -> dict[Option, Best]:
    best: dict[Option, Best] = {}
    for one in _engine(situation, programme).answer(who, position, GOALS[goal]).ranking.ranked:
        reached = Best(RANKS.index(one.status), one.from_min if one.status == "possible" else 0)
        before = best.get(one.option, reached)
        best[one.option] = min(before, reached, key=lambda best: (best.rank, best.from_min))
    return best


def _never_worse(better: dict[Option, Best], before: dict[Option, Best]) -> None:
    assert better.keys() == before.keys()
    for option, was in before.items():
        assert better[option].rank <= was.rank
        if was.rank == 0:
            assert better[option].from_min <= was.from_min


questions = st.tuples(situations(), athletes, st.sampled_from(POSITIONS), st.sampled_from(sorted(GOALS)))


@settings(deadline=None, max_examples=200)
@given(questions, hands())
def test_one_more_hand_never_closes_an_option(question: tuple[Situation, Athlete, str, str], hand: Hand) -> None:
    situation, *rest = question
    more = replace(situation, hands=(*situation.hands, hand))

    _never_worse(_best(more, *rest), _best(situation, *rest))


@settings(deadline=None, max_examples=200)
@given(questions, gear())
def test_one_more_item_never_closes_an_option(question: tuple[Situation, Athlete, str, str], item: GearThere) -> None:
    situation, *rest = question
    more = replace(situation, gear=(*situation.gear, replace(item, gear=replace(item.gear, code="one more"))))

    _never_worse(_best(more, *rest), _best(situation, *rest))


@settings(deadline=None, max_examples=200)
@given(questions, st.integers(90, 480))
def test_a_lighter_athlete_never_loses_an_option(question: tuple[Situation, Athlete, str, str], pounds: int) -> None:
    situation, who, *rest = question
    lighter = read_mass(f"{pounds} lb")
    if who.mass is None or who.mass.kg < lighter.kg:
        return
    changed = replace(who, mass=lighter)

    _never_worse(_best(situation, changed, *rest), _best(situation, who, *rest))


@settings(deadline=None, max_examples=200)
@given(questions)
def test_more_load_never_opens_an_option(question: tuple[Situation, Athlete, str, str]) -> None:
    """Soaked clothing, more fixed to every device, more riding on every cot."""
    situation, *rest = question
    fixed = read_mass("15 kg")
    heavier = replace(
        situation,
        gear=tuple(replace(item, gear=replace(item.gear, attached_mass=fixed)) for item in situation.gear),
        vehicles=tuple(replace(one, vehicle=replace(one.vehicle, attached_mass=fixed)) for one in situation.vehicles),
    )
    dry, wet = (clean_programme(E_1={"is_wet": is_wet}) for is_wet in (False, True))

    _never_worse(_best(situation, *rest, dry), _best(situation, *rest, wet))
    _never_worse(_best(situation, *rest), _best(heavier, *rest))


@settings(deadline=None, max_examples=200)
@given(questions, st.sampled_from([technique.id for technique in LIBRARY.techniques]))
def test_a_stricter_agreement_never_opens_an_option(
    question: tuple[Situation, Athlete, str, str], technique: str
) -> None:
    situation, *rest = question
    for strict in ("undecided", "refused"):
        key = ("AG-1", technique)
        now = situation.agreements.get(key)
        if now == "refused" or (now == "undecided" and strict == "undecided"):
            continue
        stricter = replace(situation, agreements={**situation.agreements, key: strict})
        _never_worse(_best(situation, *rest), _best(stricter, *rest))


def _without_a_fact(draw: st.DrawFn, situation: Situation, who: Athlete) -> tuple[Situation, Athlete]:
    what = draw(
        st.sampled_from(
            ("mass", "equipment", "mask", "surface", "hand", "rating", "service", "fits", "own", "cot", "way")
        )
    )
    if what in ("mass", "mask"):
        return situation, replace(who, **{{"mass": "mass", "mask": "face_mask"}[what]: None})
    if what == "surface":
        return replace(situation, surface=None), who
    if what == "way":
        return replace(situation, way=None), who
    if what == "hand" and situation.hands:
        number = draw(st.integers(0, len(situation.hands) - 1))
        changed = list(situation.hands)
        changed[number] = replace(changed[number], skills=frozenset(), is_recorded=False, is_fit=None)
        return replace(situation, hands=tuple(changed)), who
    if what == "cot":
        blank = tuple(replace(v, vehicle=replace(v.vehicle, cot_rated_load=None)) for v in situation.vehicles)
        return replace(situation, vehicles=blank), who
    fields: dict[str, dict[str, Mass | tuple[str, ...] | None]] = {
        "rating": {"rated_load": None},
        "service": {"in_service": None},
        "fits": {"fits": ()},
        "own": {"own_mass": None},
    }
    if what in fields and situation.gear:
        blank_gear = tuple(replace(item, gear=replace(item.gear, **fields[what])) for item in situation.gear)
        return replace(situation, gear=blank_gear), who
    return situation, who


@settings(deadline=None, max_examples=300)
@given(questions, st.data())
def test_a_fact_taken_away_never_makes_anything_possible(
    question: tuple[Situation, Athlete, str, str], data: st.DataObject
) -> None:
    situation, who, position, goal = question
    drawn: list[tuple[Situation, Athlete]] = []
    data.draw(st.composite(lambda draw: drawn.append(_without_a_fact(draw, situation, who)))())
    blanked, unknown_who = drawn[0]

    after = _engine(blanked).answer(unknown_who, position, GOALS[goal])
    if after.planned:
        assert _engine(situation).answer(who, position, GOALS[goal]).planned
