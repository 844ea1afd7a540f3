"""One page on how good a film was: what was seen, how well it fits, how noisy it is, and what made the bands wide."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from html import escape
from math import isnan
from typing import Any

from onthree.documents.typeset import pdf_of

Rows = Sequence[Sequence[str]]
TAG_COLUMNS = ("Tag", "On", "Seen", "Side", "Corners off", "From its measured place", "")
LOST_COLUMNS = ("On", "From", "To", "Why it is not known")
WIDE_COLUMNS = ("Phase", "Measure", "95 % band", "Made wide by")


@dataclass(frozen=True, kw_only=True)
class TagLine:
    """One tag: NaN where a number is not known."""

    id: int
    segment: str
    seen_ratio: float
    side_px: float
    residual_px: float
    moved_mm: float
    turned_deg: float
    is_left_out: bool


@dataclass(frozen=True, kw_only=True)
class QualityPage:
    """What stands on the page: facts in pairs, the seen share by segment over equal pieces of time, tags, the rest.

    ``lost``: the stretches in which a segment is not known, and why.
    """

    on: date
    title: str
    said: str
    facts: Sequence[tuple[str, str]]
    seen_ratio: Mapping[str, Sequence[float]]
    last_s: float
    lost: Rows
    tags: Sequence[TagLine]
    widened: Rows
    rung: str
    lifts: Sequence[str]
    noticed: Sequence[str]
    cautions: Sequence[str]


def quality_pdf(page: QualityPage) -> bytes:
    """The page as PDF."""
    return pdf_of("quality", _data(page))


def quality_html(page: QualityPage) -> str:
    """The page as one HTML file that needs nothing else."""
    data = _data(page)
    facts = "".join(f"<tr><th>{escape(name)}</th><td>{escape(value)}</td></tr>" for name, value in data["facts"])
    strips = "".join(_strip(segment, shares) for segment, shares in page.seen_ratio.items())
    listed = [
        ("What would lift it", data["lifts"]),
        ("Noticed", data["noticed"] or ["nothing"]),
    ]
    return "\n".join(
        [
            f'<!doctype html><html lang="en"><meta charset="utf-8"><title>{escape(page.title)}</title>',
            f"<style>{STYLE}</style><main><h1>{escape(page.title)}</h1><p>{escape(page.said)}</p>",
            f"<table>{facts}</table><h2>Seen over time, 0 to {page.last_s:.1f} s</h2>{strips}",
            *([f"<h2>Not known</h2>{_table(LOST_COLUMNS, page.lost)}"] if page.lost else []),
            f"<h2>Tags</h2>{_table(TAG_COLUMNS, data['tags'])}",
            f"<h2>What made the bands wide</h2>{_table(WIDE_COLUMNS, page.widened)}",
            f"<h2>Rung</h2><p>{escape(page.rung)}</p>",
            *(f"<h2>{name}</h2><ul>{_items(lines)}</ul>" for name, lines in listed if lines),
            f"<ul>{_items(page.cautions)}</ul></main></html>",
            "",
        ]
    )


STYLE = (
    "body{font:16px/1.45 sans-serif;color:#1c2530;background:#fff;margin:1.5rem}main{max-width:60rem;margin:auto}"
    "table{border-collapse:collapse;margin:.5rem 0}th,td{text-align:left;padding:.2rem .7rem;border-top:1px solid "
    "#aeb7c0;vertical-align:top}h2{color:#1f5a7a;font-size:1.15rem}svg{display:block;width:100%;height:1.4rem}"
)


def _data(page: QualityPage) -> dict[str, Any]:
    return {
        "on": page.on,
        "title": page.title,
        "said": page.said,
        "facts": [list(fact) for fact in page.facts],
        "seen": [
            {"segment": segment, "shares": [None if isnan(share) else share for share in shares]}
            for segment, shares in page.seen_ratio.items()
        ],
        "last_s": f"{page.last_s:.1f}",
        "lost_columns": LOST_COLUMNS,
        "lost": [list(row) for row in page.lost],
        "tag_columns": TAG_COLUMNS,
        "tags": [_tag_row(tag) for tag in page.tags],
        "wide_columns": WIDE_COLUMNS,
        "widened": [list(row) for row in page.widened],
        "rung": page.rung,
        "lifts": list(page.lifts),
        "noticed": list(page.noticed),
        "cautions": list(page.cautions),
    }


def _tag_row(tag: TagLine) -> list[str]:
    never = tag.seen_ratio == 0
    said = "does not hold still: left out" if tag.is_left_out else "never seen" if never else ""
    moved = "" if isnan(tag.moved_mm) else f"{tag.moved_mm:.1f} mm, {tag.turned_deg:.1f} deg"
    return [
        str(tag.id),
        tag.segment,
        f"{tag.seen_ratio:.0%}",
        "" if isnan(tag.side_px) else f"{tag.side_px:.0f} px",
        "" if isnan(tag.residual_px) else f"{tag.residual_px:.3f} px",
        moved or ("" if never or tag.is_left_out else "not measured"),
        said,
    ]


def _table(columns: Sequence[str], rows: Rows) -> str:
    head = "".join(f"<th>{escape(name)}</th>" for name in columns)
    body = "".join("<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>" for row in rows)
    return f"<table><tr>{head}</tr>{body}</table>"


def _items(lines: Sequence[str]) -> str:
    return "".join(f"<li>{escape(line)}</li>" for line in lines)


def _strip(segment: str, share_ratio: Sequence[float]) -> str:
    known = [share for share in share_ratio if not isnan(share)]
    mean = f"{sum(known) / len(known):.0%}" if known else "not known"
    bars = "".join(
        f'<rect x="{place}" y="{1 - share:.3f}" width="1.02" height="{share:.3f}" fill="#1f5a7a"/>'
        for place, share in enumerate(share_ratio)
        if not isnan(share)
    )
    return (
        f"<p>{escape(segment)}: {mean}</p>"
        f'<svg viewBox="0 0 {len(share_ratio)} 1" preserveAspectRatio="none" role="img" '
        f'aria-label="{escape(segment)} seen over time">'
        f'<rect width="{len(share_ratio)}" height="1" fill="#eef1f4"/>{bars}</svg>'
    )
