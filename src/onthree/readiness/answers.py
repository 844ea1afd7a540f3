"""What people did about findings: who was told and answered what, and which gaps were signed. No option changes."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, time

from onthree.programme.programme import Programme
from onthree.programme.records import Event, KnownGap, Told
from onthree.readiness.finding import Finding


def answered(findings: Iterable[Finding], programme: Programme, event: Event) -> tuple[Finding, ...]:
    """The findings of an event with what was told by its day and the gaps signed by its day."""
    told = [row for row in programme.told.values() if row.event == event.code and row.day <= event.day]
    in_time = sorted(told, key=lambda row: (row.day, row.at or time.min))  # within a minute, as they were saved
    signed = [gap for gap in programme.known_gaps.values() if gap.signed_on <= event.day]
    of_event = [gap for gap in signed if gap.event in (None, event.code)]
    return tuple(_answered(finding, in_time, of_event, event.day) for finding in findings)


def _answered(finding: Finding, told: list[Told], gaps: list[KnownGap], day: date) -> Finding:
    own = [gap for gap in gaps if (gap.rule, gap.subject) == (finding.rule, finding.subject)]
    latest = max(own, key=lambda gap: (gap.until, gap.code), default=None)
    holds = latest is not None and day <= latest.until
    return replace(
        finding,
        told=tuple(row for row in told if row.rule == finding.rule and row.subject in ("", finding.subject)),
        gap=latest if holds else None,
        ended_gap=None if holds else latest,
    )


def answer_lines(finding: Finding) -> tuple[str, ...]:
    """What was done about a finding, as lines to stand under it."""
    lines = [_told_line(row) for row in finding.told]
    if gap := finding.gap:
        by = f"{gap.signed_by} ({gap.signer})"
        until = f"{gap.until.day} {gap.until:%B %Y}"
        lines.append(f"known gap, signed by {by} until {until}: {gap.reason}; without it: {finding.level_unsigned}")
    elif ended := finding.ended_gap:
        lines.append(f"known gap signed by {ended.signed_by} until {ended.until.day} {ended.until:%B %Y}, ended")
    return tuple(lines)


def _told_line(row: Told) -> str:
    at = f" {row.at:%H:%M}" if row.at else ""
    note = f" ({row.note})" if row.note else ""
    return f"told: {row.who}, {row.day.day} {row.day:%B}{at}: {row.answer}{note}"
