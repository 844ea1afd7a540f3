"""What a device needs to show pages without a connection."""

from importlib.resources import files

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from onthree.web.access import open_to_all


@open_to_all
@require_safe
def service_worker(request: HttpRequest) -> HttpResponse:
    """The script that shows kept pages; it stands at the top so that it may answer for every page."""
    script = files("onthree.web") / "static" / "onthree" / "service-worker.js"
    return HttpResponse(script.read_bytes(), content_type="text/javascript")
