"""Films of a run: sent in pieces, set on the run clock, measured in a queue, shown; and a look before the runs."""

import mimetypes
import tempfile
from pathlib import Path
from typing import Any
from uuid import UUID

from django.core.files.uploadedfile import UploadedFile
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.http.response import HttpResponseBase
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from onthree.actions import film_queue, film_upload, run_pages, runs
from onthree.actions.film_clock import STRETCH_FIELDS, add_phase_of_film, mark_stretches, set_film_clock
from onthree.actions.records import FieldsError
from onthree.programme.records import Recording
from onthree.programme.rehearsals import RECORDING_KINDS
from onthree.programme.roles import Right
from onthree.rehearsals.debrief import CAUTIONS
from onthree.store.film_models import CANCELLED, DONE, FAILED
from onthree.web.access import asking, needs
from onthree.web.asked import Asked
from onthree.web.forms.record_form import told
from onthree.web.pages import page
from onthree.web.ranged import ranged
from onthree.web.views.rehearsals import LEG, found_run, organisation_of
from onthree.web.views.results import spoken, titles_of

LARGEST_LOOK_BYTES = 300 * 1024**2


@needs(Right.RECORD)
@require_safe
def films(request: HttpRequest, code: str) -> HttpResponse:
    """The films of a run, one more of them, and what to measure."""
    return _films(request, code, [])


@needs(Right.RECORD)
@require_POST
def clock(request: HttpRequest, code: str) -> HttpResponse:
    """Where on the run clock a film begins."""
    try:
        set_film_clock(
            code, request.POST.get("recording", ""), _typed(request, "offset_s"), _by(request), _whose(request)
        )
    except LookupError as error:
        raise Http404(str(error)) from None
    except ValueError as error:
        return _films(request, code, [str(error)])
    return redirect("run-films", code)


@needs(Right.RECORD)
@require_POST
def call_off_film(request: HttpRequest, code: str, key: UUID) -> HttpResponse:
    """Throw away what has arrived of a film."""
    try:
        film_upload.call_off(key, _whose(request))
    except LookupError as error:
        raise Http404(str(error)) from None
    except ValueError as error:
        return _films(request, code, [str(error)])
    return redirect("run-films", code)


@needs(Right.RECORD)
@require_POST
def phase(request: HttpRequest, code: str) -> HttpResponse:
    """A phase that was found on the film."""
    post = request.POST
    try:
        add_phase_of_film(
            code,
            post.get("recording", ""),
            post.get("technique", ""),
            (_typed(request, "from_s"), _typed(request, "to_s")),
            _by(request),
            _whose(request),
        )
    except (ValueError, LookupError) as error:
        return _films(request, code, [str(error)])
    return redirect("run-films", code)


@needs(Right.RECORD)
@require_POST
def stretches(request: HttpRequest, code: str) -> HttpResponse:
    """Where a film shows neutral, a nod and a turn of the head alone."""
    post, day = request.POST, Asked(request.GET).day
    typed = {name: post.get(name, "").strip().replace(",", ".") for name in STRETCH_FIELDS}
    try:
        mark_stretches(code, post.get("recording", ""), typed, day, _by(request), _whose(request))
    except LookupError as error:
        raise Http404(str(error)) from None
    except FieldsError as error:
        return _films(request, code, [f"{header}: {words}" for _, header, words in told(error)])
    return redirect(f"{reverse('run-films', args=[code])}#measure")


@needs(Right.RECORD)
@require_POST
def measure(request: HttpRequest, code: str) -> HttpResponse:
    """Put films into the queue; a rig file may come with it."""
    post, problems = request.POST, []
    try:
        given = request.FILES.get("rig_file")
        rig = _kept_rig(request, given) if given else int(post.get("rig") or 0)
        wanted = film_queue.Wanted(
            run=code,
            recordings=tuple(post.getlist("recording")),
            rig=rig,
            camera=post.get("camera", "").strip(),
            bound_deg=_typed(request, "bound"),
        )
        film_queue.put_in(wanted, _by(request), _whose(request))
    except LookupError as error:
        raise Http404(str(error)) from None
    except ValueError as error:
        problems = str(error).split("; ")
    return _films(request, code, problems) if problems else redirect("run", code)


@needs(Right.SIZES)
@require_safe
def job(request: HttpRequest, number: int) -> HttpResponse:
    """One measuring as a part of a page: how far it is."""
    return page(request, "rehearsals/job", leg=LEG, **_job(request, number))


@needs(Right.RECORD)
@require_POST
def call_off(request: HttpRequest, number: int) -> HttpResponse:
    """Call a measuring off."""
    return _done(request, number, film_queue.call_off)


@needs(Right.RECORD)
@require_POST
def try_again(request: HttpRequest, number: int) -> HttpResponse:
    """Try again what failed or was called off."""
    return _done(request, number, film_queue.try_again)


@needs(Right.SIZES)
@require_safe
def video(request: HttpRequest, code: str, recording: str) -> HttpResponseBase:
    """A film of a run, in parts as a player asks for them."""
    from onthree.actions.measure_task import film_at

    try:
        run = runs.run_of(code, _whose(request))
    except LookupError as error:
        raise Http404(str(error)) from None
    found = next((one for one in run.recordings if one.code == recording), None)
    path = film_at(found.file, run_pages.is_invented(_whose(request))) if found else None
    if path is None:
        raise Http404("this film is not here: send it to the page of the run")
    return ranged(request, path, mimetypes.guess_type(path.name)[0] or "application/octet-stream")


@needs(Right.RECORD)
@require_http_methods(["GET", "HEAD", "POST"])
def look(request: HttpRequest) -> HttpResponse:
    """Before the runs: a few seconds of film, or a photo, and what to mend."""
    asked = Asked(request.GET)
    asked.full_clean()
    about: dict[str, Any] = {
        "asked": asked,
        "rigs": film_queue.rigs(_whose(request)),
        "cautions": CAUTIONS,
        "organisation": organisation_of(request),
    }
    if request.method != "POST":
        return page(request, "rehearsals/look", leg=LEG, **about)
    try:
        about["found"] = _looked_at(request)
    except (ValueError, OSError) as error:
        return page(request, "rehearsals/look", leg=LEG, status=400, problems=str(error).split("; "), **about)
    about["rigs"] = film_queue.rigs(_whose(request))
    return page(request, "rehearsals/look", leg=LEG, **about)


def _looked_at(request: HttpRequest) -> Any:
    """What a film shows. Raises ValueError with what to do."""
    from onthree.actions.kept_cameras import named_camera
    from onthree.actions.preflight import preflight_film

    film, given = request.FILES.get("film"), request.FILES.get("rig_file")
    if film is None:
        raise ValueError("Film: choose a few seconds of film, or a photo")
    if (film.size or 0) > LARGEST_LOOK_BYTES:
        raise ValueError(f"Film: {film.size} bytes given; a few seconds are enough, at most {LARGEST_LOOK_BYTES}")
    camera = named_camera(name) if (name := request.POST.get("camera", "").strip()) else None
    rig = _kept_rig(request, given) if given else int(request.POST.get("rig") or 0)
    content = film_queue.rig_content(rig, _whose(request))
    with tempfile.TemporaryDirectory() as folder:
        path, rig_path = Path(folder) / Path(film.name or "film").name, Path(folder) / "rig" / "rig.toml"
        rig_path.parent.mkdir()
        rig_path.write_text(content, encoding="utf-8")
        with path.open("wb") as file:
            for piece in film.chunks():
                file.write(piece)
        return preflight_film(path, rig_path, camera)


def _films(request: HttpRequest, code: str, problems: list[str]) -> HttpResponse:
    from onthree.actions.measure_task import film_at

    asked = Asked(request.GET)
    answer = found_run(request, code, asked.day)
    whose = _whose(request)
    is_invented = bool(answer.programme.organisation.is_invented)
    about: dict[str, Any] = {
        "asked": asked,
        "programme": answer.programme,
        "page": answer.page,
        "run": answer.run.run,
        "recorded": answer.run,
        "here": {each.code for each in answer.run.recordings if film_at(each.file, is_invented)},
        "problems": problems,
        "films": [(each, _shown(each, request.POST)) for each in answer.run.recordings],
        "typed": request.POST,
        "ticked": request.POST.getlist("recording") or [each.code for each in answer.run.recordings[:1]],
        "unfinished": film_upload.unfinished(code, whose),
        "kinds": RECORDING_KINDS[1::-1],
        "rigs": film_queue.rigs(whose),
        "usual_rig": film_queue.usual_rig(answer.run.run.day, whose),
        "techniques": run_pages.technique_titles(),
        "piece_bytes": film_upload.LARGEST_PIECE_BYTES,
        "cautions": CAUTIONS,
    }
    return page(request, "rehearsals/films", leg=LEG, status=400 if problems else 200, **about)


def _shown(film: Recording, refused: QueryDict) -> dict[str, Any]:
    """What stands in the forms of a film: what is kept; what was typed where a form of this film was refused."""
    kept = {name: getattr(film, name) for name in ("offset_s", *STRETCH_FIELDS)}
    return {**kept, **(refused.dict() if refused.get("recording") == film.code else {})}


def _job(request: HttpRequest, number: int) -> dict[str, Any]:
    try:
        found = film_queue.job_numbered(number, _whose(request))
    except LookupError as error:
        raise Http404(str(error)) from None
    return {"job": found, "may_record": asking(request).may(Right.RECORD), **how_it_stands(found)}


def how_it_stands(found: Any) -> dict[str, Any]:
    """What a page shows of a measuring."""
    return {
        "is_silent": film_queue.is_silent(found, timezone.now()),
        "headline": spoken(found.told["headline"], titles_of(found.told)) if found.told else "",
        "is_over": found.state in (CANCELLED, DONE, FAILED),
    }


def _done(request: HttpRequest, number: int, act: Any) -> HttpResponse:
    try:
        act(number, _whose(request))
        run = film_queue.job_numbered(number, _whose(request)).run.code
    except LookupError as error:
        raise Http404(str(error)) from None
    return redirect("run", run)


def _kept_rig(request: HttpRequest, given: UploadedFile[Any]) -> int:
    if (given.size or 0) > film_queue.LARGEST_RIG_BYTES:
        raise ValueError(f"Rig: {given.size} bytes given, a rig file as onthree tags writes it expected")
    today = timezone.now().astimezone().date()
    return film_queue.keep_rig(given.name or "rig.toml", given.read(), today, _by(request), _whose(request))


def _typed(request: HttpRequest, name: str) -> Any:
    """A number as typed, None where nothing is. Raises ValueError."""
    text = request.POST.get(name, "").strip().replace(",", ".")
    try:
        return float(text) if text else None
    except ValueError:
        raise ValueError(f"{name.replace('_', ' ')}: {text!r} given, a number expected") from None


def _by(request: HttpRequest) -> str:
    return asking(request).name


def _whose(request: HttpRequest) -> str | None:
    return asking(request).organisation_code
