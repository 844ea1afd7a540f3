"""The rules: stable identifier, title, and the pure function that finds what it is about at one event."""

from collections.abc import Callable
from dataclasses import dataclass

from onthree.readiness.agreement_rules import agreements_clash, host_plan, protocol_unmatched, rehearsed_with
from onthree.readiness.answers import answered
from onthree.readiness.booking_rules import double_booked
from onthree.readiness.event_rules import agreement_undecided, gear_absent, hands, visitors_unknown
from onthree.readiness.finding import Finding, Level
from onthree.readiness.fit_rules import not_measured, too_large
from onthree.readiness.gear_rules import face_mask_tools
from onthree.readiness.hospital_rules import hospital_agreed, hospital_children, rides_along
from onthree.readiness.life_first_rules import (
    aed_time,
    airway_gear,
    cooling_absent,
    life_first_unapproved,
    standing_orders,
)
from onthree.readiness.load_rules import cot_retention, load_unknown
from onthree.readiness.people_rules import check_off_overdue, lay_unbriefed, qualification_expired
from onthree.readiness.place_rules import backup_untested, communication, gate_key, gate_narrow
from onthree.readiness.plan_rules import details_unverified, plan_posted
from onthree.readiness.time_out_rules import time_out_not_agreed
from onthree.readiness.tool_rules import accessory_misfit, tool_not_ready, tool_untried
from onthree.readiness.upkeep_rules import gear_damaged, inspection_overdue, upkeep_due
from onthree.readiness.vehicle_rules import (
    ambulance_may_leave,
    bariatric_lead,
    bariatric_wording,
    play_paused_by,
    vehicle_space,
)
from onthree.readiness.weight_rules import rating_unknown, weight_limit
from onthree.readiness.wording import SOURCES
from onthree.transfers.options import OptionsEngine


@dataclass(frozen=True)
class Rule:
    """A rule and what it is about; its page is docs/rules/<id>.md."""

    id: str
    title: str
    find: Callable[[OptionsEngine], tuple[Finding, ...]]

    @property
    def source(self) -> str:
        """Key of the source that asks for it."""
        return SOURCES[self.id]


RULES = (
    Rule("weight-limit", "Someone is over a weight limit", weight_limit),
    Rule("rating-unknown", "A weight limit is not known", rating_unknown),
    Rule("hands", "Not enough hands, or not yet", hands),
    Rule("gear-absent", "Gear that every option needs is not there", gear_absent),
    Rule("inspection-overdue", "An inspection is overdue", inspection_overdue),
    Rule("face-mask-tools", "A face-mask tool is missing", face_mask_tools),
    Rule("visitors-unknown", "Visiting athletes are not known", visitors_unknown),
    Rule("agreement-undecided", "An agreement is not settled", agreement_undecided),
    Rule("upkeep-due", "Gear was not cleaned or lubricated in time", upkeep_due),
    Rule("gear-damaged", "Gear is damaged, worn or not ready", gear_damaged),
    Rule("check-off-overdue", "A skill was not checked off lately", check_off_overdue),
    Rule("qualification-expired", "A qualification has expired", qualification_expired),
    Rule("tool-not-ready", "A screwdriver is not ready", tool_not_ready),
    Rule("tool-untried", "No tool was tried on a helmet worn there", tool_untried),
    Rule("accessory-misfit", "Straps or head blocks do not fit", accessory_misfit),
    Rule("fit", "Someone is too large for a carrying device", too_large),
    Rule("measure-next", "Not known whether someone fits", not_measured),
    Rule("vehicle-space", "Equipment removal does not go in an ambulance", vehicle_space),
    Rule("gate-narrow", "A gate is too narrow for the cot", gate_narrow),
    Rule("gate-key", "Nobody knows who opens a gate", gate_key),
    Rule("double-booked", "Somebody or something is at two events", double_booked),
    Rule("bariatric-lead", "Somebody needs a bariatric unit", bariatric_lead),
    Rule("ambulance-may-leave", "An ambulance may leave", ambulance_may_leave),
    Rule("communication", "How one calls for help is not settled", communication),
    Rule("protocol-unmatched", "An agreement is on another protocol edition", protocol_unmatched),
    Rule("host-plan", "The host's plan holds", host_plan),
    Rule("backup-untested", "The backup for calling was not tested lately", backup_untested),
    Rule("aed-time", "An AED is not there in time", aed_time),
    Rule("rehearsed-with", "A crew did not rehearse with us lately", rehearsed_with),
    Rule("play-paused-by", "Nobody pauses play while the ambulance is away", play_paused_by),
    Rule("bariatric-wording", "The words that bring a bariatric unit are not known", bariatric_wording),
    Rule("cooling-absent", "Heat stroke cannot be cooled there", cooling_absent),
    Rule("airway-gear", "Airway kit, suction or skill is not there", airway_gear),
    Rule("standing-orders", "No standing order about airway and suction", standing_orders),
    Rule("life-first-unapproved", "Medical direction did not approve a life-first page", life_first_unapproved),
    Rule("hospital-agreed", "The receiving hospital did not agree lately", hospital_agreed),
    Rule("hospital-children", "The hospital may not take children", hospital_children),
    Rule("rides-along", "Nobody rides along with the tools", rides_along),
    Rule("plan-posted", "Another version of the plan hangs at the venue", plan_posted),
    Rule("details-unverified", "Address and numbers are not verified", details_unverified),
    Rule("lay-unbriefed", "Lay helpers were briefed for nothing", lay_unbriefed),
    Rule("agreements-clash", "Agreements together leave no option", agreements_clash),
    Rule("load-unknown", "A load cannot be added up", load_unknown),
    Rule("cot-retention", "A cot does not hold a carrying device", cot_retention),
    Rule("time-out-not-agreed", "Something was not agreed at the time-out", time_out_not_agreed),
)


def findings(engine: OptionsEngine) -> tuple[Finding, ...]:
    """What every rule finds at the engine's event and what was done about it, the most urgent level first."""
    levels = tuple(Level)
    found = [finding for rule in RULES for finding in rule.find(engine)]
    known = answered(found, engine.programme, engine.event)
    return tuple(sorted(known, key=lambda finding: levels.index(finding.level)))
