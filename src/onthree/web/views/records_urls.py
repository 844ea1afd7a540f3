"""Addresses of the pages of records, below ``records/``. What is done to a record comes before its kind and code."""

from django.urls import path, re_path

from onthree.web.views import records, records_edit, records_gear, records_plan, records_workbook

_KIND = r"(?P<slug>[a-z-]{1,40})"
_CODE = r"(?P<code>[^\s,;@\x00-\x1f]{1,40})"  # as the workbook allows it

urlpatterns = [
    path("", records.index, name="records"),
    path("workbook/", records_workbook.workbook, name="workbook"),
    path("workbook/confirm/", records_workbook.confirm, name="workbook-confirm"),
    path("workbook/download/", records_workbook.download, name="workbook-download"),
    path("workbook/blank/", records_workbook.template, name="workbook-blank"),
    path("labels/", records_gear.labels, name="gear-labels"),
    path("labels/sheet.pdf", records_gear.labels_pdf, name="gear-labels-pdf"),
    re_path(rf"^upkeep/add/{_CODE}/$", records_gear.add, name="upkeep-add"),
    re_path(rf"^plan/file/{_CODE}\.geojson$", records_plan.geojson, name="plan-geojson"),
    re_path(rf"^plan/file/{_CODE}-local-metres\.json$", records_plan.local, name="plan-local"),
    re_path(rf"^plan/save/{_CODE}/$", records_plan.save, name="plan-save"),
    re_path(rf"^plan/upload/{_CODE}/$", records_plan.upload, name="plan-upload"),
    re_path(rf"^plan/of/{_CODE}/$", records_plan.plan, name="venue-plan"),
    re_path(rf"^options/{_KIND}/$", records.options, name="record-options"),
    re_path(rf"^add/{_KIND}/$", records_edit.add, name="record-add"),
    re_path(rf"^edit/{_KIND}/{_CODE}/$", records_edit.edit, name="record-edit"),
    re_path(rf"^take-back/{_KIND}/{_CODE}/$", records_edit.take_back_record, name="record-take-back"),
    re_path(rf"^history/{_KIND}/{_CODE}/$", records_edit.history, name="record-history"),
    re_path(rf"^{_KIND}/$", records.listed, name="records-list"),
    re_path(rf"^{_KIND}/{_CODE}/$", records.show, name="record"),
]
