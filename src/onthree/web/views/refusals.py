"""What is shown where no page can be."""

from django.http import HttpRequest, HttpResponse

from onthree.web.pages import refusal


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """A request refused before any page saw it, such as one that calls this computer by another name."""
    told = "The pages are for this computer only: open them under the address that onthree serve prints."
    return refusal(request, 400, "Nothing is served under this address", told)


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Something this person may not do."""
    return refusal(request, 403, "Not for you", str(exception) or "Ask the lead.")


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Something asked for that is not there, with what to do."""
    reason = exception.args[0] if exception.args and isinstance(exception.args[0], str) else ""
    return refusal(request, 404, "Not found", reason or f"There is no page {request.path}")


def fault(request: HttpRequest) -> HttpResponse:
    """A fault of the program itself."""
    told = "This is a fault of the program, not of your data. What failed is printed where onthree serve runs."
    return refusal(request, 500, "No answer", told)


def not_from_here(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form that did not come from a page of ours, or from one opened before somebody else signed in here."""
    told = "The form was not sent from a page that is open now. Go back, load the page again and send it once more."
    return refusal(request, 403, "Nothing was saved", told, "What you typed is still there when you go back.")
