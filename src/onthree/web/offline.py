"""Which pages a device keeps for reading without a connection."""

from urllib.parse import quote

from onthree.techniques.life_first import life_first_pages

STATIC = (
    "/static/onthree/onthree.css",
    "/static/onthree/time_out.css",
    "/static/onthree/three-strokes.svg",
    "/static/onthree/outbox.js",
    "/static/onthree/outbox_forms.js",
    "/static/onthree/offline.js",
)


def kept_for(event_code: str) -> tuple[str, ...]:
    """The addresses kept for an event: time-out, cards, gear check, and every life-first page."""
    event = f"/events/{quote(event_code, safe='')}/"
    pages = (f"{event}time-out/", f"{event}cards/", f"{event}gear-check/", event)
    return (*pages, *kept_always())


def kept_always() -> tuple[str, ...]:
    """The addresses kept wherever a page is kept: life first comes before everything else."""
    life_first = (f"/life-first/{page.id}/" for page in life_first_pages())
    return ("/life-first/", *life_first, *STATIC)
