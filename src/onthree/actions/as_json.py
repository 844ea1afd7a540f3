"""Answers as plain data for JSON; every document carries ``schema_version`` and the standing cautions."""

from collections.abc import Sequence
from math import isfinite
from pathlib import Path
from typing import Any

from onthree.actions.accounts_json import people as people
from onthree.actions.accounts_json import tokens as tokens
from onthree.actions.agreements_answer import AgreementsAnswer
from onthree.actions.coverage_answer import CoverageAnswer
from onthree.actions.event_answer import EventAnswer
from onthree.actions.life_first import ApprovedPage, LifeFirstAnswer
from onthree.actions.lift_answer import LiftAnswer
from onthree.actions.workbooks import ImportResult
from onthree.loads.crew_share import CrewShare
from onthree.programme.records import KnownGap, Told
from onthree.readiness.finding import Finding
from onthree.sources import source
from onthree.techniques.technique import Fact
from onthree.transfers.agreements import in_words
from onthree.transfers.beside import beside_options
from onthree.transfers.causes import Cause
from onthree.transfers.differences import differences, evidence_lines
from onthree.transfers.options import AthleteAnswer, OptionResult
from onthree.transfers.shared_lift import SharedLift
from onthree.transfers.standing import DEFER, STANDING, rests_on

SCHEMA_VERSION = 1

Document = dict[str, Any]


def document(answer: EventAnswer, kind: str, **content: Any) -> Document:
    """A JSON document about one event."""
    organisation = answer.programme.organisation
    return {
        "schema_version": SCHEMA_VERSION,
        "kind": kind,
        "organisation": organisation.code,
        "data_are_invented": organisation.is_invented,
        "event": {"code": answer.event.code, "name": answer.event.name, "day": answer.event.day.isoformat()},
        "goal": answer.goal.id,
        **content,
        "rests_on": rests_on(),
        "cautions": list(STANDING),
    }


def event_check(answer: EventAnswer) -> Document:
    """The check of an event: findings and sentences."""
    return document(
        answer,
        "event-check",
        findings=[finding_data(finding) for finding in answer.findings],
        sentences=dict(answer.sentences),
    )


def event_options(answer: EventAnswer, answers: tuple[AthleteAnswer, ...]) -> Document:
    """Options athlete by athlete."""
    return document(
        answer,
        "event-options",
        athletes=[athlete_data(found) for found in answers],
        beside_every_option=list(beside_options(answer.engine)),
    )


def event_sentences(answer: EventAnswer) -> Document:
    """The sentence to say aloud, by found position."""
    return document(answer, "event-sentence", sentences=dict(answer.sentences))


def shared_lifts(found: LiftAnswer) -> Document:
    """How one athlete's lift would be shared; an infinite share is null: the device tips."""
    return document(
        found.event,
        "shared-lifts",
        athlete=found.athlete.code,
        lifts=[lift_data(lift) for lift in found.lifts],
        without_a_device_kg=dict(found.direct_kg),
        log_roll=None
        if found.roll is None
        else {
            "ellipse_force_n": found.roll.ellipse_force_n,
            "block_force_n": found.roll.block_force_n,
            "sentence": found.roll.sentence,
        },
        reference={"printed": found.reference.printed, "sentence": found.reference.sentence},
    )


def life_first(answer: LifeFirstAnswer, only: ApprovedPage | None = None) -> Document:
    """The life-first pages, or one of them."""
    return {
        "schema_version": SCHEMA_VERSION,
        "kind": "life-first",
        "pages": [life_first_data(each) for each in ((only,) if only else answer.pages)],
        "told": answer.told,
        "cautions": [DEFER],
    }


def life_first_data(shown: ApprovedPage) -> Document:
    """One life-first page; every line with the number of its source, null for common practice."""
    page = shown.page

    def line(fact: Fact, **text: Any) -> Document:
        return {**text, "source": page.mark(fact) or None}

    return {
        "id": page.id,
        "title": page.title,
        "is_approved": shown.order is not None,
        "approval": shown.approval,
        "actions": [line(each, does=each.does) for each in page.action],
        "signs": [line(each, says=each.says) for each in page.sign],
        "afterwards": [line(each, does=each.does) for each in page.afterwards],
        "known": [line(each, sport=each.sport, says=each.says, printed=each.printed) for each in page.known],
        "conflicts": [
            {"about": each.about, "sides": [line(side, says=side.says) for side in (each.one, each.other)]}
            for each in page.conflict
        ],
        "sources": [f"[{number}] {cited}" for number, cited in enumerate(page.sources, start=1)],
    }


def lift_data(lift: SharedLift) -> Document:
    """One device."""
    return {
        "device": lift.device.code,
        "load_kg": lift.load_kg,
        "missing": list(lift.missing),
        "equal_lifters": [
            {
                "people": equal.people,
                "holds": list(equal.holds),
                "best_kg": _finite_kg(equal.best_kg),
                "equal_arms_kg": _finite_kg(equal.equal_arms_kg),
                "one_short_kg": _finite_kg(equal.one_short_kg),
            }
            for equal in lift.equal
        ],
        "crew": None
        if lift.crew is None
        else {
            "as_listed": _crew_data(lift.crew.as_listed),
            "best": {"order": dict(lift.crew.best_order), **_crew_data(lift.crew.best)},
        },
    }


def _crew_data(share: CrewShare) -> Document:
    return {
        "least_largest_ratio": _finite_ratio(share.least_largest_ratio),
        "equal_stiffness_ratio": _finite_ratio(share.equal_stiffness_ratio),
        "after_one_lets_go_ratio": _finite_ratio(share.after_one_lets_go_ratio),
        "sentence": share.sentence,
    }


def _finite_kg(mass_kg: float) -> float | None:
    return mass_kg if isfinite(mass_kg) else None


def _finite_ratio(ratio: float) -> float | None:
    return ratio if isfinite(ratio) else None


def import_result(result: ImportResult) -> Document:
    """What an import changed, or would change."""
    changes = result.changes
    return {
        "schema_version": SCHEMA_VERSION,
        "kind": "import-result",
        "is_saved": result.is_saved,
        "added_count": len(changes.added),
        "changed_count": len(changes.changed),
        "unchanged_count": changes.unchanged,
        "kept_count": len(changes.kept),
        "changes": list(changes.lines()),
    }


def export_result(workbook: Path) -> Document:
    """Where a workbook was written."""
    return {"schema_version": SCHEMA_VERSION, "kind": "export-result", "written": str(workbook)}


def serving(address: str) -> Document:
    """Where the pages are served."""
    return {"schema_version": SCHEMA_VERSION, "kind": "serving", "address": address}


def finding_data(finding: Finding) -> Document:
    """One finding."""
    return {
        "rule": finding.rule,
        "level": str(finding.level),
        "subject": finding.subject,
        "message": finding.message,
        "evidence": dict(finding.evidence),
        "do": finding.do,
        "who": finding.who,
        "tell": finding.tell,
        "source": str(source(finding.source)),
        "is_open": finding.is_open,
        "level_unsigned": str(finding.level_unsigned),
        "told": [told_data(row) for row in finding.told],
        "gap": gap_data(finding.gap) if finding.gap else None,
        "ended_gap": gap_data(finding.ended_gap) if finding.ended_gap else None,
    }


def told_data(row: Told) -> Document:
    """Who was told and what they answered."""
    return {
        "who": row.who,
        "day": row.day.isoformat(),
        "at": f"{row.at:%H:%M}" if row.at else None,
        "answer": row.answer,
        "note": row.note,
    }


def gap_data(gap: KnownGap) -> Document:
    """A known gap as it was signed."""
    return {
        "signed_by": gap.signed_by,
        "signer": gap.signer,
        "reason": gap.reason,
        "signed_on": gap.signed_on.isoformat(),
        "until": gap.until.isoformat(),
    }


def option_comparison(answer: EventAnswer, found: Sequence[AthleteAnswer], technique: str) -> Document:
    """The best option with a technique beside the planned one."""
    return document(
        answer,
        "option-comparison",
        technique=technique,
        athletes=[
            {
                "athlete": one.athlete.code,
                "found": one.position,
                "planned": option_data(one.planned) if one.planned else None,
                "with_it": option_data(other),
                "differences": [each._asdict() for each in differences(one.planned, other)] if one.planned else [],
                "evidence": list(evidence_lines(answer.engine.order, one.planned.option, other.option))
                if one.planned
                else [],
            }
            for one in found
            if (other := one.best_with(technique))
        ],
    )


def coverage(found: CoverageAnswer) -> Document:
    """Coverage, event by event."""
    return {
        "schema_version": SCHEMA_VERSION,
        "kind": "coverage",
        "organisation": found.programme.organisation.code,
        "data_are_invented": found.programme.organisation.is_invented,
        "events": [
            {
                "event": each.event,
                "possible_count": each.possible_count,
                "hold_count": each.hold_count,
                "longest_hold_min": each.longest_hold_min,
                "unknown_count": each.unknown_count,
                "not_possible_count": each.not_possible_count,
                "stuck": [
                    {"athlete": one.athlete.code, "found": one.position, "status": one.status} for one in each.stuck
                ],
            }
            for _, each in found.covered
        ],
        "closed_by": [
            {"causes": [cause_data(cause) for cause in one.causes], "situations_count": one.situations_count}
            for one in found.closed_by
        ],
        "rests_on": rests_on(),
        "cautions": list(STANDING),
    }


def agreements(found: AgreementsAnswer) -> Document:
    """What was settled at an event, what clashes, what costs a handling."""
    return {
        "schema_version": SCHEMA_VERSION,
        "kind": "agreements",
        "event": found.engine.event.code,
        "data_are_invented": found.programme.organisation.is_invented,
        "settled": [
            {"code": row.code, "agency": row.agency, "shift": row.shift, "about": row.technique, "answer": row.answer}
            for row in found.rows
        ],
        "clashes": [
            {
                "found": clash.position,
                "athletes": [one.code for one in clash.athletes],
                "together": sorted(in_words(found.engine, one) for one in clash.together),
            }
            for clash in found.clashes
        ],
        "costs": [
            {
                "found": cost.position,
                "athletes": [one.code for one in cost.athletes],
                "agreement": in_words(found.engine, cost.agreed),
                "handlings_count": cost.handlings_count,
                "handlings_saved_count": cost.handlings_saved_count,
            }
            for cost in found.costs
        ],
        "rests_on": rests_on(),
        "cautions": list(STANDING),
    }


def athlete_data(answer: AthleteAnswer) -> Document:
    """One athlete's answer for one found position."""
    return {
        "athlete": answer.athlete.code,
        "number": answer.athlete.number,
        "found": answer.position,
        "goal": answer.goal.id,
        "status": answer.status,
        "load": {part.name: str(part.mass) if part.mass else None for part in answer.worn},
        "options": [
            {
                "planned": place == 0 and answer.planned is not None,
                "others_count": others_count,
                "after_planned": after,
                **option_data(result),
            }
            for place, (result, others_count, after) in enumerate(answer.ways)
        ],
        "ties_count": len(answer.ties),
        "fixes": [[cause_data(cause) for cause in fix] for fix in answer.fixes],
        "blocked_by": [[cause_data(cause) for cause in block] for block in answer.blocked_by],
    }


def option_data(result: OptionResult) -> Document:
    """One option with the items it uses."""
    return {
        "techniques": [step.technique.id for step in result.option.steps],
        "devices": [there.gear.code for there in result.items.devices.values() if there],
        "vehicle": result.items.vehicle.vehicle.code if result.items.vehicle else None,
        "status": result.status,
        "from_min": result.from_min,
        "waits": [
            {"before": wait.step.technique.id, "until_min": wait.until_min, "reason": wait.reason}
            for wait in result.waits
        ],
        "handlings_count": result.option.handlings_count,
        "people_count": result.people_count,
        "lifters_count": result.lifters_count,
        "against": [cause_data(cause) for cause in result.against],
        "cautions": list(result.cautions),
    }


def cause_data(cause: Cause) -> Document:
    """One cause."""
    return {
        "id": cause.id,
        "verdict": str(cause.verdict),
        "sentence": cause.sentence,
        "do": cause.do,
        "who": cause.fixable_by,
    }
