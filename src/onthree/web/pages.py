"""How every page is drawn: what stands on all of them, and how a refusal is said."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from onthree.programme.roles import Right
from onthree.techniques.life_first import life_first_pages
from onthree.transfers.standing import DEFER, LIFE_FIRST, NOT_KNOWN, PLANNED, rests_on
from onthree.web.legs import LEGS


def page(request: HttpRequest, name: str, *, status: int = 200, leg: str = "", **content: Any) -> HttpResponse:
    """The page of the template ``onthree/<name>.html``; ``leg`` is the one it stands under, empty for none."""
    on_every_page = {
        "life_first": LIFE_FIRST,
        "planned": PLANNED,
        "defer": DEFER,
        "not_known": NOT_KNOWN,
        "rests_on_files": rests_on(),
        "life_first_titles": [(each.id, each.title) for each in life_first_pages()],
        "legs": LEGS,
        "leg": leg,
        "sees_sizes": sees_sizes(request),
    }
    return render(request, f"onthree/{name}.html", {**on_every_page, **content}, status=status)


def sees_sizes(request: HttpRequest) -> bool:
    """Whether what athletes weigh and measure may stand on the page."""
    person = getattr(request, "person", None)
    return person is not None and person.may(Right.SIZES)


def refusal(request: HttpRequest, status: int, title: str, *told: str) -> HttpResponse:
    """A refusal that says why, and what to do."""
    return page(request, "refused", status=status, title=title, told=told)
