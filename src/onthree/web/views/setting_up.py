"""How a tablet or a phone comes to trust the pages of this computer: three steps, and the file to install."""

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from onthree.web.access import open_to_all
from onthree.web.pages import page


@open_to_all
@require_safe
def set_up(request: HttpRequest) -> HttpResponse:
    """The three steps."""
    return page(request, "set_up", authority=settings.AUTHORITY, address=settings.LOCAL_ADDRESS)


@open_to_all
@require_safe
def certificate(request: HttpRequest) -> HttpResponse:
    """The certificate of the authority: public, without its key."""
    if settings.AUTHORITY is None:
        raise Http404(
            "No certificate is needed: the pages are for this computer only. Start them with --lan for others."
        )
    content = settings.AUTHORITY.certificate.read_bytes()
    headers = {"Content-Disposition": 'attachment; filename="onthree-authority.crt"'}
    return HttpResponse(content, content_type="application/x-x509-ca-cert", headers=headers)
