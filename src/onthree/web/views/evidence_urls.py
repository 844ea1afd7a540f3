"""Addresses of the pages of the evidence, below ``choose/evidence/``."""

from django.urls import path

from onthree.web.views import evidence

urlpatterns = [
    path("", evidence.overview, name="evidence"),
    path("values/", evidence.lines, name="evidence-lines"),
    path("technique/<slug:called>/", evidence.technique, name="evidence-technique"),
    path("source/<slug:key>/", evidence.source, name="evidence-source"),
]
