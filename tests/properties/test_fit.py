"""A wider athlete or a narrower device never fits better; a fact taken away never lets a prediction pass."""

from dataclasses import fields, replace
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from onthree.loads.fit import ROOMS, ZONES, Basis, DeviceFit, ZoneFit, fit
from onthree.loads.to_measure import measure_next
from onthree.programme.records import Athlete, Gear
from onthree.techniques.verdict import Verdict
from onthree.units import Length, Mass


def lengths(shortest_cm: int, longest_cm: int) -> st.SearchStrategy[Length]:
    return st.integers(shortest_cm, longest_cm).map(lambda cm: Length(Decimal(cm) / 100, f"{cm} cm"))


masses = st.integers(30, 200).map(lambda kg: Mass(Decimal(kg), f"{kg} kg"))
athletes = st.builds(
    Athlete,
    code=st.just("A"),
    team=st.just("T"),
    mass=st.none() | masses,
    stature=st.none() | lengths(140, 210),
    equipment_mass=st.none() | st.sampled_from((0, 9)).map(lambda kg: Mass(Decimal(kg), f"{kg} kg")),
    survey_table=st.none() | st.sampled_from(("male", "female")),
    age_group=st.none() | st.sampled_from(("8 to 14", "15 to 17", "adult")),
    shoulder_breadth=st.none() | lengths(35, 70),
    padded_shoulder_breadth=st.none() | lengths(40, 80),
    trunk_breadth=st.none() | lengths(22, 50),
    hip_breadth=st.none() | lengths(25, 55),
    forearm_breadth=st.none() | lengths(35, 90),
)
devices = st.builds(
    Gear,
    code=st.just("D"),
    kind=st.just("scoop"),
    name=st.just("scoop"),
    usable_width=st.none() | lengths(30, 80),
    slot_width=st.none() | lengths(30, 80),
    usable_length=st.none() | lengths(160, 210),
)
BREADTHS = tuple(of.name for of in fields(Athlete) if of.name.endswith("_breadth"))


def pairs(better: DeviceFit, before: DeviceFit) -> list[tuple[ZoneFit, ZoneFit]]:
    return list(zip(better.zones, before.zones, strict=True))


@given(athletes, devices, st.sampled_from(BREADTHS), st.integers(1, 20))
def test_a_wider_measured_breadth_never_fits_better(who: Athlete, on: Gear, name: str, more_cm: int) -> None:
    size = getattr(who, name)
    if size is None:
        return
    wider = replace(who, **{name: Length(size.m + Decimal(more_cm) / 100, "wider")})

    assert all(after.verdict >= before.verdict for after, before in pairs(fit(wider, on), fit(who, on)))


@given(athletes, devices, st.sampled_from(ROOMS), st.integers(1, 20))
def test_a_roomier_device_never_fits_worse(who: Athlete, on: Gear, name: str, more_cm: int) -> None:
    room = getattr(on, name)
    if room is None:
        return
    roomier = replace(on, **{name: Length(room.m + Decimal(more_cm) / 100, "roomier")})

    assert all(after.verdict <= before.verdict for after, before in pairs(fit(who, roomier), fit(who, on)))


@given(athletes, devices, st.sampled_from(("mass", "stature", "equipment_mass", "survey_table")))
def test_a_fact_about_the_athlete_taken_away_never_passes(who: Athlete, on: Gear, name: str) -> None:
    after, before = fit(replace(who, **{name: None}), on), fit(who, on)

    assert all(one.verdict is not Verdict.OK or was.verdict is Verdict.OK for one, was in pairs(after, before))


@given(athletes, devices, st.sampled_from(ROOMS))
def test_a_device_nobody_measured_passes_nobody(who: Athlete, on: Gear, name: str) -> None:
    found = fit(who, replace(on, **{name: None}))
    concerned = [one for one, zone in zip(found.zones, ZONES, strict=True) if zone.room == name]

    assert {one.verdict for one in concerned} == {Verdict.UNKNOWN}


@given(athletes, devices)
def test_what_is_measured_is_never_left_open_and_what_is_not_known_never_decided(who: Athlete, on: Gear) -> None:
    for one in fit(who, on).zones:
        if one.basis is Basis.NOT_KNOWN:
            assert one.verdict is Verdict.UNKNOWN and one.size_m is None
        if one.room_m and one.basis in (Basis.MEASURED, Basis.PADDED) and not one.is_at_least:
            assert one.verdict is not Verdict.UNKNOWN


@given(st.lists(athletes, max_size=8), st.lists(devices, max_size=3))
def test_the_list_is_short_and_everything_on_it_settles_something(team: list[Athlete], gear: list[Gear]) -> None:
    found = measure_next(team, gear, {})

    assert sum(isinstance(one.subject, Athlete) for one in found) <= 6
    assert all(one.what and one.settles_count > 0 for one in found)
