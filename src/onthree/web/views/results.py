"""The result of a measured run: the film beside its traces, measures with their bands, how good the film was, files."""

import mimetypes
from pathlib import Path
from typing import Any

from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.urls import reverse
from django.views.decorators.http import require_safe

from onthree.actions.film_queue import last_measured
from onthree.actions.kept_films import measured_folder
from onthree.actions.measured_files import FILES, FILM_FILES
from onthree.actions.measured_traces import read_about
from onthree.actions.written_files import NAMES_FILE
from onthree.programme.roles import Right
from onthree.techniques.library import bundled_library
from onthree.web.access import asking, needs
from onthree.web.asked import Asked
from onthree.web.pages import page
from onthree.web.ranged import ranged
from onthree.web.views.rehearsals import LEG, found_run

DRAWN, PEAK = FILM_FILES
TRACES = ("Flexion and extension", "Lateral bending", "Axial rotation", "Total")
SIGNS = ("flexion above 0", "to the right above 0", "to the left above 0", "from neutral, all ways together")
DOWNLOADS = {
    "angles.csv": "angles, moment by moment",
    NAMES_FILE: "all measures, bands and flags",
    DRAWN: "the film with tags, axes and angles drawn in",
    PEAK: "the clip around the peak",
    "quality.pdf": "how good the film was",
    "quality.html": "the same as a page",
    "traces.svg": "the traces as a drawing",
    "traces.png": "the traces as a picture",
}
_UNITS = (("_deg_s", "degrees/s"), ("_deg", "degrees"), ("_mm", "mm"), ("_m", "m"), ("_s", "s"))


@needs(Right.SIZES)
@require_safe
def result(request: HttpRequest, code: str) -> HttpResponse:
    """The film beside the traces of what was measured last."""
    asked = Asked(request.GET)
    answer = found_run(request, code, asked.day)
    about: dict[str, Any] = {
        "asked": asked,
        "programme": answer.programme,
        "page": answer.page,
        "run": answer.run.run,
        "may_record": asking(request).may(Right.RECORD),
    }
    job = last_measured(code, asking(request).organisation_code)
    traces = read_about(job.pk) if job else None
    if job is not None and traces is not None:
        about |= _measured(job, traces)
    return page(request, "rehearsals/result", leg=LEG, **about)


@needs(Right.SIZES)
@require_safe
def file(request: HttpRequest, code: str, name: str) -> HttpResponseBase:
    """One file of the result; films in parts as a player asks for them."""
    if name not in DOWNLOADS:
        raise Http404(f"{name}: one of these expected: {', '.join(DOWNLOADS)}")
    job = last_measured(code, asking(request).organisation_code)
    path = measured_folder(job.pk) / name if job else Path()
    if not path.is_file():
        raise Http404(f"{name} of {code} is not there: it is written when its film has been measured")
    kind = mimetypes.guess_type(name)[0] or "application/octet-stream"
    if kind.startswith("video/") and "download" not in request.GET:
        return ranged(request, path, kind)
    plain = "".join(letter for letter in code if letter.isalnum() or letter == "-")
    return FileResponse(path.open("rb"), content_type=kind, as_attachment=True, filename=f"{plain}-{name}")


def _measured(job: Any, traces: dict[str, Any]) -> dict[str, Any]:
    told, folder = job.told, measured_folder(job.pk)
    films = [("as filmed", reverse("film", args=[job.run.code, code])) for code in job.recordings[:1]]
    if (folder / DRAWN).is_file():
        films.insert(0, ("drawn on", reverse("run-file", args=[job.run.code, DRAWN])))
    begins_s = traces.get("film_begins_s", 0.0)  # of the film; the drawn one begins with its first frame
    named = titles_of(told)
    rows = [[[spoken(each[0], named), *each[1:]] for each in of_trace] for of_trace in traces["trace_rows"]]
    shown = [(title, SIGNS[place], rows[place]) for place, title in enumerate(TRACES)]
    return {
        "job": job,
        "told": told,
        "films": films,
        "has_peak": (folder / PEAK).is_file(),
        "shown": shown,
        "headline": spoken(told["headline"], named),
        "flags": [spoken(flag, named) for flag in told["flags"]],
        "phases": [{**_phase(one), "title": spoken(one["name"], named)} for one in told["phases"]],
        "seen": [(name, ratio) for name, ratio in traces["seen"].items()],
        "files": [(name, what) for name, what in DOWNLOADS.items() if (folder / name).is_file()],
        "all_files": len(FILES) + len(FILM_FILES) + 1,
        "data": {
            "address": f"/api/films/runs/{job.run.code}/angles.f32",
            "count": traces["count"],
            "columns": len(traces["columns"]),
            "begins_s": {reverse("film", args=[job.run.code, each]): begins_s for each in job.recordings[:1]},
            "phases": [{**one, "name": spoken(one["name"], named)} for one in traces["phases"]],
        },
    }


def titles_of(told: dict[str, Any]) -> dict[str, str]:
    """Identifiers of the techniques that were measured to their titles, the longest first."""
    known = bundled_library().by_id
    ids = {one["technique"] for one in told.get("phases", []) if one["technique"] in known}
    return {each: known[each].title for each in sorted(ids, key=len, reverse=True)}


def spoken(text: str, named: dict[str, str]) -> str:
    """A sentence with the titles of techniques instead of their identifiers."""
    for identifier, title in named.items():
        text = text.replace(identifier, title)
    return text


def _phase(told: dict[str, Any]) -> dict[str, Any]:
    """One phase: its lag, and each measure in words with its unit."""
    rows = [(*_words(name), one) for name, one in told["measures"].items() if one["value"] is not None]
    return {**told, "rows": [*_lag_rows(told["start_lag"]), *rows]}


def _lag_rows(lag: dict[str, Any]) -> list[tuple[str, str, dict[str, Any]]]:
    """The lag, the same at the later size, and when each segment passed its first; none of what is not known.

    None either of a film measured by an earlier version, which reckoned its lag otherwise.
    """
    if "later" not in lag:
        return []
    later, moments = lag["later"], {f"{name} first moved": lag[name] for name in ("head", "body")}
    found = {"start lag": {**lag, "value": lag["value_s"]}, "the same later": {**later, "value": later["value_s"]}}
    found |= {words: {**one, "value": one["at_s"]} for words, one in moments.items()}
    return [
        (words, "s", {**one, "low": one["low_s"], "high": one["high_s"], "noise_floor": None, "widened_by": None})
        for words, one in found.items()
        if one["value"] is not None
    ]


def _words(name: str) -> tuple[str, str]:
    """A measure in words, and its unit."""
    for ending, unit in _UNITS:
        if name.endswith(ending):
            return name.removesuffix(ending).replace("_", " "), unit
    return name.replace("_", " "), ""
