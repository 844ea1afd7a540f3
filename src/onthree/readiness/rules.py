"""The rules: stable identifier, title, and the pure function that finds what it is about at one event."""

from collections.abc import Callable
from dataclasses import dataclass

from onthree.readiness.event_rules import agreement_undecided, gear_absent, hands, visitors_unknown
from onthree.readiness.finding import Finding, Level
from onthree.readiness.gear_rules import face_mask_tools, inspection_overdue
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
)


def findings(engine: OptionsEngine) -> tuple[Finding, ...]:
    """What every rule finds at the engine's event, the most urgent level first."""
    levels = tuple(Level)
    found = [finding for rule in RULES for finding in rule.find(engine)]
    return tuple(sorted(found, key=lambda finding: levels.index(finding.level)))
