"""Addresses of the pages of rehearsals, below ``rehearsals/``. A page of a new kind of plan has its place here."""

from django.urls import path, re_path

from onthree.web.views import films, rehearsals, results

_CODE = r"(?P<code>[^\s,;@\x00-\x1f]{1,40})"  # as the workbook allows it
_RECORDING = r"(?P<recording>[^\s,;@\x00-\x1f]{1,40})"

urlpatterns = [
    path("", rehearsals.rehearsals, name="rehearsals"),
    path("start/", rehearsals.start, name="run-start"),
    path("look/", films.look, name="film-look"),
    path("measuring/<int:number>/", films.job, name="measure-job"),
    path("measuring/<int:number>/call-off/", films.call_off, name="measure-call-off"),
    path("measuring/<int:number>/again/", films.try_again, name="measure-again"),
    re_path(rf"^{_CODE}/record/$", rehearsals.record, name="run-record"),
    re_path(rf"^{_CODE}/set-aside/$", rehearsals.put_aside, name="run-set-aside"),
    re_path(rf"^{_CODE}/debrief/$", rehearsals.debrief, name="run-debrief"),
    re_path(rf"^{_CODE}/debrief/page\.pdf$", rehearsals.debrief_pdf, name="run-debrief-pdf"),
    re_path(rf"^{_CODE}/films/$", films.films, name="run-films"),
    re_path(rf"^{_CODE}/films/clock/$", films.clock, name="film-clock"),
    re_path(rf"^{_CODE}/films/call-off/(?P<key>[0-9a-f-]{{36}})/$", films.call_off_film, name="film-call-off"),
    re_path(rf"^{_CODE}/films/phase/$", films.phase, name="film-phase"),
    re_path(rf"^{_CODE}/films/stretches/$", films.stretches, name="film-stretches"),
    re_path(rf"^{_CODE}/films/measure/$", films.measure, name="run-measure"),
    re_path(rf"^{_CODE}/films/{_RECORDING}/video$", films.video, name="film"),
    re_path(rf"^{_CODE}/result/$", results.result, name="run-result"),
    re_path(rf"^{_CODE}/result/(?P<name>[a-z.]{{1,20}}[0-9a-z]*)$", results.file, name="run-file"),
    re_path(rf"^{_CODE}/$", rehearsals.run, name="run"),
]
