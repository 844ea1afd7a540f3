"""The invented conference: whole, closed, plausible, marked invented; its story and its gaps stand in the data."""

from collections import Counter
from datetime import date, timedelta
from decimal import Decimal
from functools import cache

import pytest

from onthree.demo.conference import (
    DEMO_TODAY,
    conference_records,
    planted_findings,
    read_conference,
    write_conference_workbook,
)
from onthree.loads.chain import device_chain, worn_load
from onthree.programme.fields import fields_of
from onthree.programme.programme import Programme, missing_references, programme_of
from onthree.programme.records import SHEETS, Athlete
from onthree.readiness.rules import RULES, findings
from onthree.techniques.library import bundled_library
from onthree.techniques.state import SKILLS
from onthree.techniques.verdict import Verdict
from onthree.transfers.options import engine_for
from onthree.units import read_length, read_mass
from onthree.workbook.read import read_workbook

FIRST_GAME = "E-1"


@cache
def conference() -> Programme:
    return programme_of(conference_records(), DEMO_TODAY)


def load_kg(athlete: Athlete) -> Decimal:
    """Body and equipment [kg] of an athlete who was weighed."""
    parts = worn_load(athlete, conference().teams[athlete.team])
    return sum((part.mass.kg for part in parts if part.mass), Decimal(0))


def of_sport(sport: str) -> list[Athlete]:
    known = conference()
    return [athlete for athlete in known.athletes.values() if known.teams[athlete.team].sport == sport]


def test_headers_are_those_of_the_sheets() -> None:
    headers = {sheet: list(rows[0]) for sheet, rows in read_conference().items()}

    assert headers == {sheet: [field.header for field in fields_of(kind)] for sheet, kind in SHEETS.items()}


def test_the_numbers_of_the_conference() -> None:
    known = conference()
    sizes = Counter(athlete.team for athlete in known.athletes.values())

    assert (len(known.venues), len(known.teams), len(known.responders), len(known.gear)) == (4, 7, 20, 24)
    assert (len(known.agencies), len(known.vehicles), len(known.events)) == (3, 5, 18)
    assert sizes == {"T-1": 48, "T-2": 44, "T-3": 52, "T-4": 41, "T-5": 29, "T-6": 20, "T-7": 20}
    assert {team.sport for team in known.teams.values()} == {"football", "lacrosse", "ice hockey"}


def test_every_sheet_has_rows() -> None:
    known = conference()

    assert all(known.table(kind) for kind in SHEETS.values())


def test_no_row_is_lost_on_the_way_through_the_workbook() -> None:
    rows = {sheet: len(rows) for sheet, rows in read_conference().items()}
    records = Counter(type(record) for record in conference_records())

    assert rows == {sheet: records[kind] for sheet, kind in SHEETS.items()}


def test_the_workbook_reads_back_as_the_same_records() -> None:
    content, techniques = write_conference_workbook(), bundled_library().by_id

    assert read_workbook(content, "demo.xlsx", known_techniques=techniques, current=None) == conference_records()


def test_everything_with_a_name_of_its_own_is_marked_invented() -> None:
    known = conference()
    named = [known.organisation, *known.hospitals.values(), *known.venues.values(), *known.agencies.values()]

    assert known.organisation.is_invented
    assert [one.name for one in (*named, *known.events.values()) if not one.name.endswith("(invented)")] == []


def test_athletes_are_codes_only() -> None:
    for athlete in conference().athletes.values():
        assert athlete.code == f"{athlete.team.replace('-', '')}-{athlete.number:02d}"


def test_it_is_closed_under_references() -> None:
    assert missing_references(conference()) == ()


def test_jersey_numbers_are_unique_within_a_team() -> None:
    shirts = Counter((athlete.team, athlete.number) for athlete in conference().athletes.values())

    assert max(shirts.values()) == 1


# Plausible body sizes and equipment of college athletes: common practice, no source.
@pytest.mark.parametrize(
    ("sport", "plays", "lowest", "highest"),
    [
        ("football", "line", "255 lb", "345 lb"),
        ("football", "back", "170 lb", "245 lb"),
        ("football", "", "165 lb", "345 lb"),
        ("lacrosse", "", "145 lb", "240 lb"),
        ("ice hockey", "", "54 kg", "90 kg"),
    ],
)
def test_body_masses_are_plausible(sport: str, plays: str, lowest: str, highest: str) -> None:
    weighed = [one for one in of_sport(sport) if one.plays.endswith(plays) and one.mass]
    odd = [one.code for one in weighed if not read_mass(lowest).kg <= one.mass.kg <= read_mass(highest).kg]

    assert len(weighed) > 25
    assert odd == []


@pytest.mark.parametrize(
    ("sport", "shortest", "tallest", "lightest_set", "heaviest_set"),
    [
        ("football", "5 ft 7 in", "6 ft 8 in", "15 lb", "25 lb"),
        ("lacrosse", "5 ft 6 in", "6 ft 6 in", "8 lb", "16 lb"),
        ("ice hockey", "157 cm", "182 cm", "8 kg", "20 kg"),  # the heaviest: goalkeepers
    ],
)
def test_statures_and_equipment_are_plausible(
    sport: str, shortest: str, tallest: str, lightest_set: str, heaviest_set: str
) -> None:
    teams = [team for team in conference().teams.values() if team.sport == sport]
    worn = [one.equipment_mass for one in (*teams, *of_sport(sport)) if one.equipment_mass]

    for athlete in of_sport(sport):
        assert read_length(shortest).m <= athlete.stature.m <= read_length(tallest).m, athlete.code
    assert all(team.equipment_mass for team in teams)
    assert all(read_mass(lightest_set).kg <= mass.kg <= read_mass(heaviest_set).kg for mass in worn)


BREADTHS = ("trunk_breadth", "hip_breadth", "shoulder_breadth", "padded_shoulder_breadth")


@pytest.mark.parametrize("team", ["T-1", "T-2", "T-3", "T-4", "T-5", "T-6", "T-7"])
def test_the_six_heaviest_of_each_team_were_measured_and_few_others(team: str) -> None:
    roster = [athlete for athlete in conference().athletes.values() if athlete.team == team]
    heaviest = sorted((one for one in roster if one.mass), key=lambda one: one.mass.kg)[-6:]
    measured = [one for one in roster if one.hip_breadth]

    assert {one.code for one in heaviest} <= {one.code for one in measured}
    assert len(measured) <= 8
    assert all(one.survey_table and one.age_group for one in roster)
    assert all(one.age_group == "adult" or one in measured for one in roster), "the survey has nobody that young"


def test_measured_breadths_widen_from_the_chest_to_the_pads() -> None:
    for athlete in conference().athletes.values():
        sizes = [getattr(athlete, breadth) for breadth in BREADTHS]
        if any(sizes):
            assert [size.m for size in sizes] == sorted(size.m for size in sizes), athlete.code
            assert athlete.shoulder_breadth.m < athlete.forearm_breadth.m, athlete.code


def test_each_team_types_its_masses_in_its_own_way() -> None:
    weighed = [athlete for athlete in conference().athletes.values() if athlete.mass]

    assert {(athlete.team, str(athlete.mass).split()[-1]) for athlete in weighed} == {
        ("T-1", "lb"),
        ("T-2", "kg"),
        ("T-3", "lb"),
        ("T-4", "lbs"),
        ("T-5", "lb"),
        ("T-6", "kg"),
        ("T-7", "kg"),
    }


def test_one_athlete_was_not_weighed_and_does_not_play_soon() -> None:
    known = conference()
    unweighed = [athlete for athlete in known.athletes.values() if athlete.mass is None]
    playing = [event.code for event in known.coming_events() if event.teams.count(unweighed[0].team)]

    assert [athlete.team for athlete in unweighed] == ["T-4"]
    assert playing[0] == "E-5"


def test_the_next_event_is_the_friday_game_with_unknown_visitors() -> None:
    coming = conference().coming_events()

    assert (coming[0].code, coming[0].kind, coming[0].visitors) == (FIRST_GAME, "game", "unknown")
    assert (coming[0].day, coming[0].day.strftime("%A")) == (date(2026, 11, 27), "Friday")
    assert len(coming) == 18
    assert coming[-1].day - coming[0].day == timedelta(weeks=6)


@pytest.mark.parametrize(("gear", "over"), [("G-1", [52, 71, 78]), ("G-2", []), ("G-3", [52, 71, 78])])
def test_at_the_next_game_only_the_wide_scoop_carries_three_linemen(gear: str, over: list[int]) -> None:
    known = conference()
    game, team = known.events[FIRST_GAME], known.teams["T-1"]
    chains = {one.number: device_chain(worn_load(one, team), known.gear[gear]) for one in known.roster(game)}

    assert gear in [there.code for there in game.gear]
    assert [number for number, chain in chains.items() if chain.verdict is not Verdict.OK] == over


def test_their_bodies_alone_are_under_the_rating() -> None:
    limit_kg = read_mass("350 lb").kg
    three = [conference().athletes[code] for code in ("T1-52", "T1-71", "T1-78")]

    assert all(athlete.mass.kg < limit_kg < load_kg(athlete) < read_mass("500 lb").kg for athlete in three)


def test_nobody_else_is_near_a_rating() -> None:
    others = [one for one in conference().athletes.values() if one.code not in ("T1-52", "T1-71", "T1-78")]

    assert max(map(load_kg, others)) < read_mass("345 lb").kg


def test_ten_or_more_people_are_there_at_games() -> None:
    known = conference()
    for event in known.events.values():
        here = [there for there in event.responders if there.from_min == 0]
        crews = [known.vehicles[there.code].crew or 0 for there in event.vehicles if there.from_min == 0]
        assert len(here) + sum(crews) >= (10 if event.kind == "game" else 2)


def test_the_lone_practice_waits_for_the_ambulance() -> None:
    known = conference()
    lone = known.events["E-5"]
    kinds = [known.responders[there.code].kind for there in lone.responders]

    assert kinds == ["athletic trainer", "lay helper"]
    assert [str(there) for there in lone.vehicles] == ["AMB-2@8min", "AMB-3@12min"]


def test_visitors_are_unknown_once_and_never_at_practices() -> None:
    visitors = Counter((event.kind, event.visitors) for event in conference().events.values())

    assert visitors == {("game", "unknown"): 2, ("game", "known"): 4, ("practice", "none"): 12}


def test_the_medical_team_has_every_skill_but_the_cot_and_the_vacuum_mattress_nobody_has() -> None:
    skills = {skill for responder in conference().responders.values() for skill in responder.skills}

    assert skills == {*SKILLS} - {"cot", "vacuum mattress"}
    assert "vacuum mattress" not in {item.kind for item in conference().gear.values()}


def test_two_siskins_are_under_fifteen() -> None:
    young = [one.code for one in conference().athletes.values() if one.age_group == "8 to 14"]

    assert young == ["T7-12", "T7-27"]


def test_each_rule_has_a_planted_gap_and_some_events_have_none() -> None:
    planted = planted_findings()

    assert {rule for _, rule, _ in planted} == {rule.id for rule in RULES}
    assert conference().events.keys() - {event for event, _, _ in planted} == {"E-2", "E-12"}


def test_one_game_is_away_under_the_hosts_plan() -> None:
    away = [event for event in conference().events.values() if event.plan_of == "the host's"]

    assert [(event.code, event.kind, event.venue, event.teams) for event in away] == [("E-13", "game", "V-4", ("T-1",))]


def test_the_signed_gap_and_what_was_told_are_about_planted_findings() -> None:
    known, planted = conference(), planted_findings()
    signed = [(gap.rule, gap.subject) for gap in known.known_gaps.values()]
    told = [(one.event, one.rule, one.subject) for one in known.told.values()]

    assert signed == [("gate-narrow", "GATE-5")]
    assert set(signed) <= {(rule, subject) for _, rule, subject in planted}
    assert set(told) <= planted
    assert all(one.day <= DEMO_TODAY for one in known.told.values())


def test_nothing_was_done_after_the_day_of_the_demo() -> None:
    known = conference()
    days = [
        *(row.day for row in known.upkeep.values()),
        *(row.done_on for row in known.check_offs.values()),
        *(row.settled_on for row in known.agreements.values()),
        *(row.signed_on for row in (*known.known_gaps.values(), *known.medical_orders.values())),
        *(row.backup_tested_on or row.details_verified_on or DEMO_TODAY for row in known.venues.values()),
        *(item.inspected_on for item in known.gear.values()),
    ]

    assert max(days) <= DEMO_TODAY


def test_the_rules_find_what_was_planted_and_nothing_else() -> None:
    known, library = conference(), bundled_library()
    found = {
        (event.code, finding.rule, finding.subject)
        for event in known.events.values()
        for finding in findings(engine_for(known, event, library))
    }

    assert found == planted_findings()


def test_planted_gaps_are_at_events_of_the_conference() -> None:
    assert {event for event, _, _ in planted_findings()} <= conference().events.keys()
