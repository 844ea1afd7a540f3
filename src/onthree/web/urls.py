"""Addresses of the pages, leg by leg."""

from django.urls import include, path, re_path

from onthree.web.api.addresses import api
from onthree.web.views import (
    accounts,
    event_pages,
    events,
    gear_check,
    home,
    kit,
    known_gap,
    legs,
    life_first,
    offline,
    sending,
    setting_up,
    time_out,
    visitors,
)

_CODE = r"[^\s,;@\x00-\x1f]{1,40}"  # as the workbook allows it

urlpatterns = [
    path("", home.home, name="home"),
    path("api/", api.urls),
    path("life-first/", life_first.life_first, name="life-first"),
    path("life-first/<slug:called>/", life_first.life_first_page, name="life-first-page"),
    path("sign-in/", accounts.sign_in, name="sign-in"),
    path("sign-out/", accounts.sign_out, name="sign-out"),
    path("account/", accounts.account, name="account"),
    path("kit-answers/", kit.kit_answers, name="kit-answers"),
    path("send/<str:kind>/", sending.send, name="send"),
    path("service-worker.js", offline.service_worker, name="service-worker"),
    path("set-up/", setting_up.set_up, name="set-up"),
    path("set-up/onthree-authority.crt", setting_up.certificate, name="set-up-certificate"),
    # Measure
    path("measure/", legs.measure, name="measure"),
    path("rehearsals/", include("onthree.web.views.rehearsals_urls")),
    # Choose
    path("choose/", home.choose, name="choose"),
    path("choose/evidence/", include("onthree.web.views.evidence_urls")),
    re_path(rf"^events/(?P<code>{_CODE})/athletes/(?P<called>{_CODE})/$", events.athlete, name="athlete"),
    re_path(rf"^events/(?P<code>{_CODE})/visitor-link/$", visitors.make_link, name="visitor-link"),
    re_path(rf"^events/(?P<code>{_CODE})/standing/$", events.standing, name="event-standing"),
    re_path(rf"^events/(?P<code>{_CODE})/time-out/$", time_out.time_out, name="time-out"),
    re_path(rf"^events/(?P<code>{_CODE})/cards/$", event_pages.cards, name="cards"),
    re_path(rf"^events/(?P<code>{_CODE})/everything/$", event_pages.everything, name="everything"),
    re_path(rf"^events/(?P<code>{_CODE})/kit/$", kit.kit, name="kit"),
    re_path(rf"^events/(?P<code>{_CODE})/gear-check/$", gear_check.gear_check, name="gear-check"),
    re_path(rf"^events/(?P<code>{_CODE})/known-gap/$", known_gap.known_gap, name="known-gap"),
    re_path(rf"^events/(?P<code>{_CODE})/$", events.event, name="event"),
    path("visit/<str:text>/", visitors.visit, name="visit"),
    # Be ready
    path("ready/", legs.ready, name="ready"),
    path("records/", include("onthree.web.views.records_urls")),
]

handler403 = "onthree.web.views.refusals.forbidden"
handler400 = "onthree.web.views.refusals.bad_request"
handler404 = "onthree.web.views.refusals.not_found"
handler500 = "onthree.web.views.refusals.fault"
