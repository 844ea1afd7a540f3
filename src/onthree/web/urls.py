"""Addresses of the pages."""

from django.urls import path, re_path

from onthree.web import views

_CODE = r"[^\s,;@\x00-\x1f]{1,40}"  # as the workbook allows it

urlpatterns = [
    path("", views.coming, name="coming"),
    path("life-first/", views.life_first, name="life-first"),
    path("life-first/<slug:called>/", views.life_first_page, name="life-first-page"),
    re_path(rf"^events/(?P<code>{_CODE})/athletes/(?P<called>{_CODE})/$", views.athlete, name="athlete"),
    re_path(rf"^events/(?P<code>{_CODE})/$", views.event, name="event"),
]

handler400 = views.bad_request
handler404 = views.not_found
handler500 = views.fault
