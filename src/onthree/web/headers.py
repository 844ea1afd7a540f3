"""What every response tells the browser: run our own files only, ask nobody else, keep no copy."""

from collections.abc import Callable, Mapping

from django.http import HttpRequest, HttpResponse

HEADERS: Mapping[str, str] = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src 'self' data:; "
        "media-src 'self' blob:; worker-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; "
        "frame-ancestors 'none'"
    ),
    "Permissions-Policy": "camera=(self), geolocation=(), microphone=()",
    "Cache-Control": "no-store",  # pages hold what people weigh
}
"""Header to value; a response that says something else about one of them keeps its own."""


def strict_headers(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Django middleware that adds the headers."""

    def respond(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        for name, value in HEADERS.items():
            response.headers.setdefault(name, value)
        return response

    return respond
