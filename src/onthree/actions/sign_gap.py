"""A known gap: a finding that medical direction or administration signed, until a day. It stays seen."""

from datetime import date
from uuid import UUID

from onthree.actions.event_answer import EventAnswer, NotFoundError
from onthree.programme.records import KnownGap
from onthree.readiness.finding import Finding


def finding_called(answer: EventAnswer, rule: str, subject: str) -> Finding:
    """The finding of an event by rule and subject. Raises NotFoundError where it is not there, or not any more."""
    for finding in answer.findings:
        if (finding.rule, finding.subject) == (rule, subject):
            return finding
    raise NotFoundError(f"{answer.event.code} has no finding {rule} {subject}: it may be settled, look at the event")


def sign_gap(
    answer: EventAnswer, finding: Finding, key: UUID, *, signed_by: str, signer: str, reason: str, until: date, by: str
) -> KnownGap:
    """Save the gap for this event; the same key again changes nothing. Raises ValueError where it ends before today."""
    from onthree.store.records import save_records

    on = answer.programme.on
    if until < on:
        raise ValueError(f"until {until.isoformat()} given, {on.isoformat()} or later expected: choose a later day")
    gap = KnownGap(
        code=f"GAP-{key.hex[:12].upper()}",
        rule=finding.rule,
        subject=finding.subject,
        event=answer.event.code,
        signed_by=signed_by,
        signer=signer,
        reason=reason,
        signed_on=on,
        until=until,
    )
    save_records([gap], by=by, organisation_code=answer.programme.organisation.code)
    return gap
