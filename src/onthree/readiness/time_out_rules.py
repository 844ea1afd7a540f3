"""The rule about what somebody did not agree to at the medical time-out."""

from onthree.readiness.finding import Finding
from onthree.readiness.time_out import ITEM_OF, NOT_AGREED, OWN_RULE, latest_answers, standing
from onthree.readiness.wording import finding
from onthree.transfers.options import OptionsEngine


def time_out_not_agreed(engine: OptionsEngine) -> tuple[Finding, ...]:
    """Items to which somebody's latest answer is that they do not agree."""
    latest = latest_answers(engine.programme, engine.event)
    return tuple(
        finding(
            engine,
            OWN_RULE,
            item.level,
            item_id,
            f"not agreed at the time-out: {item.title[0].lower()}{item.title[1:]}",
            tuple(
                (f"{row.who}{f', {row.at:%H:%M}' if row.at else ''}", _said(row.answer, row.note))
                for row in latest[item_id]
            ),
            do=item.do,
            who=item.who,
        )
        for item_id, item in ITEM_OF.items()
        if standing(latest.get(item_id, ())) == NOT_AGREED
    )


def _said(answer: str, note: str) -> str:
    return f"{answer} ({note})" if note else answer
