"""What somebody typed just when their login had run out: kept on this computer, given back after they sign in."""

from django.http import HttpRequest, QueryDict

_KEY = "typed"
_NEVER_KEPT = ("csrfmiddlewaretoken",)
_LONGEST = 100_000


def keep(request: HttpRequest) -> None:
    """Keep the fields of a form in the session of whoever sent it; passwords and files are not kept."""
    given = request.POST.copy()
    for name in [*_NEVER_KEPT, *(name for name in given if "password" in name)]:
        given.pop(name, None)
    encoded = given.urlencode()
    if given and len(encoded) <= _LONGEST:
        request.session[_KEY] = {"path": request.path, "fields": encoded}


def take(request: HttpRequest) -> QueryDict | None:
    """The fields kept for this address, once; None where there are none."""
    kept = request.session.get(_KEY)
    if not kept or kept["path"] != request.path:
        return None
    del request.session[_KEY]
    return QueryDict(kept["fields"])
