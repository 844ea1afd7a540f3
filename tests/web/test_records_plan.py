"""The drawn plan of a venue: by mouse, by keyboard and by numbers; GeoJSON out, and in with its preview."""

import json
from itertools import pairwise
from math import cos, pi, radians

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from onthree.actions.records import record_as_saved, save_one
from onthree.actions.venue_plan import degree_lengths_m, from_degrees, on_map_deg, plan_of
from onthree.demo.conference import DEMO_TODAY
from onthree.programme.drawn_plan import Point
from onthree.programme.records import PlanMark, Venue
from tests.web.conftest import PageAt, assert_accessible
from tests.web.test_records import text_of

PLAN = "/records/plan/of/V-1/"


def on_the_map() -> None:
    """Tie the plan of V-1 to an invented place: in the open ocean, its field pointing north-east."""
    saved = record_as_saved(Venue, "V-1")
    there = {"latitude_deg": "45.5", "longitude_deg": "-30.25", "bearing_deg": "45"}
    save_one(Venue, saved.typed | there, saved.version, DEMO_TODAY, "test")


def test_the_plan_has_every_mark_as_drawing_and_as_numbers(conference: Client) -> None:
    page = text_of(conference.get(PLAN))  # type: ignore[arg-type]

    assert "American football, 109.7 m by 48.8 m (from memory" in page
    for mark, drawn in plan_of("V-1").marks:
        assert f'data-mark="{mark.code}"' in page
        assert str(drawn) in page
    assert "70 m along it" in page  # 7 + 22 + 41 m: the way in of the invented stadium


def test_a_mark_is_saved_from_numbers_alone_and_gets_a_code(conference: Client) -> None:
    given = {"kind": "AED", "label": "AED two", "drawn": "POINT (-50 -20)", "note": "", "version": "", "code": ""}
    assert conference.post("/records/plan/save/V-1/", given).status_code == 302

    assert record_as_saved(PlanMark, "V-1-M1").typed["label"] == "AED two"


def test_what_cannot_be_drawn_is_told_and_kept_in_the_form(conference: Client) -> None:
    given = {"kind": "AED", "label": "<b>x</b>", "drawn": "POLYGON ((0 0, 1 1))", "version": "", "code": ""}
    page = text_of(conference.post("/records/plan/save/V-1/", given), 400)  # type: ignore[arg-type]

    assert "3 to 60 points that differ" in page
    assert 'value="POLYGON ((0 0, 1 1))"' in page


def test_the_second_of_two_who_move_one_mark_is_told(conference: Client) -> None:
    saved = record_as_saved(PlanMark, "M-4")
    first, second = (
        saved.typed | {"drawn": text, "version": saved.version} for text in ("POINT (1 30)", "POINT (2 30)")
    )
    conference.post("/records/plan/save/V-1/", first)
    page = text_of(conference.post("/records/plan/save/V-1/", second), 409)  # type: ignore[arg-type]

    assert "saved this mark meanwhile as POINT (1 30)" in page
    assert 'value="POINT (2 30)"' in page
    assert record_as_saved(PlanMark, "M-4").typed["drawn"] == "POINT (1 30)"


def test_without_a_place_on_the_map_there_is_no_geojson_but_a_file_in_local_metres(conference: Client) -> None:
    refused = text_of(conference.get("/records/plan/file/V-1.geojson"), 409)  # type: ignore[arg-type]
    local = conference.get("/records/plan/file/V-1-local-metres.json")

    assert "GeoJSON needs latitude and longitude" in refused
    assert "not GeoJSON" in local.json()["read_me"]
    assert local.json()["marks"][0]["points_m"]


def test_geojson_goes_out_and_comes_back_the_same(conference: Client) -> None:
    """RFC 7946: longitude first, areas closed, their outer ring against the clock (sections 3.1.1 and 3.1.6)."""
    on_the_map()
    document = conference.get("/records/plan/file/V-1.geojson").json()
    area = next(each["geometry"] for each in document["features"] if each["geometry"]["type"] == "Polygon")
    ring = area["coordinates"][0]
    doubled = sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise(ring))

    assert document["type"] == "FeatureCollection"
    assert ring[0] == ring[-1] and doubled > 0
    assert all(abs(longitude + 30.25) < 0.01 and abs(latitude - 45.5) < 0.01 for longitude, latitude in ring)
    sent = SimpleUploadedFile("plan.geojson", json.dumps(document).encode())
    page = text_of(conference.post("/records/plan/upload/V-1/", {"plan": sent}))  # type: ignore[arg-type]
    assert "0 added, 1 changed" in page or "0 added, 0 changed" in page  # the ring may begin at another corner


def test_a_geojson_that_cannot_be_drawn_is_told_feature_by_feature(conference: Client) -> None:
    on_the_map()
    features = [
        {
            "type": "Feature",
            "geometry": {"type": "Point", "coordinates": [45.5, -30.25]},
            "properties": {"kind": "AED"},
        },
        {
            "type": "Feature",
            "geometry": {"type": "Point", "coordinates": [-30.25, 45.5]},
            "properties": {"kind": "bar"},
        },
        {"type": "Feature", "geometry": {"type": "MultiPoint", "coordinates": []}, "properties": {"kind": "AED"}},
    ]
    content = json.dumps({"type": "FeatureCollection", "features": features}).encode()
    page = text_of(conference.post("/records/plan/upload/V-1/", {"plan": SimpleUploadedFile("a", content)}), 400)  # type: ignore[arg-type]

    assert "Nothing was saved: 3 problems" in page
    assert "longitude first, then latitude" in page
    assert "kind 'bar' given" in page


@pytest.mark.parametrize("bearing_deg", [0.0, 45.0, 90.0, 217.0])
@pytest.mark.parametrize("place_deg", [(45.5, -30.25), (-12.0, 179.9999), (60.0, 0.0)])
def test_there_and_back_is_within_two_centimetres(bearing_deg: float, place_deg: tuple[float, float]) -> None:
    venue = Venue(code="V", name="V", latitude_deg=place_deg[0], longitude_deg=place_deg[1], bearing_deg=bearing_deg)
    for point in (Point(0, 0), Point(100, 0), Point(-30, 250), Point(1200.5, -900.25)):
        back = from_degrees(*on_map_deg(point, venue), venue)
        assert back.x_m == pytest.approx(point.x_m, abs=0.02)
        assert back.y_m == pytest.approx(point.y_m, abs=0.02)


def test_a_field_that_points_east_has_its_right_end_in_the_east() -> None:
    venue = Venue(code="V", name="V", latitude_deg=10.0, longitude_deg=20.0, bearing_deg=90.0)
    right, up = on_map_deg(Point(100, 0), venue), on_map_deg(Point(0, 100), venue)

    assert right[0] > 20.0 and right[1] == pytest.approx(10.0, abs=1e-6)
    assert up[1] > 10.0 and up[0] == pytest.approx(20.0, abs=1e-6)


def test_a_degree_of_longitude_at_the_equator_is_that_of_the_circle() -> None:
    assert degree_lengths_m(0)[1] == pytest.approx(2 * pi * 6378137 / 360)


def test_degrees_of_longitude_shrink_to_nothing_at_the_pole() -> None:
    assert degree_lengths_m(90)[1] == pytest.approx(0, abs=1e-6)
    assert degree_lengths_m(60)[1] > degree_lengths_m(0)[1] * cos(radians(60))


@pytest.mark.browser
def test_a_line_is_drawn_by_mouse(page_at: PageAt) -> None:
    page = page_at("desktop")
    page.goto(PLAN)
    assert_accessible(page)
    page.select_option("#plan-shape", "LINESTRING")
    page.select_option("#plan-kind", "cot route")
    page.fill("#plan-label", "way of the cot")
    for x_m, y_m in ((0, 0), (30, 0), (30, 20)):
        at = page.evaluate(
            "([x, y]) => { const plan = document.getElementById('plan');"
            " const at = new DOMPoint(x, -y).matrixTransform(plan.getScreenCTM()); return [at.x, at.y] }",
            [x_m, y_m],
        )
        page.mouse.click(*at)
    assert "50 m along it" in page.inner_text("#plan-said")
    page.click("text=Save the mark")
    page.wait_for_url("**?saved*")

    drawn = record_as_saved(PlanMark, "V-1-M1").record
    assert isinstance(drawn, PlanMark)
    length_m = next(d.length_m for mark, d in plan_of("V-1").marks if mark.code == "V-1-M1")
    assert length_m == pytest.approx(50, abs=1)


@pytest.mark.browser
def test_a_point_is_placed_and_moved_with_the_keyboard_alone(page_at: PageAt) -> None:
    page = page_at("tablet")
    page.goto(PLAN)
    page.select_option("#plan-kind", "AED")
    page.focus("#plan")
    for key in ("Shift+ArrowRight", "ArrowRight", "ArrowUp", "Enter"):
        page.keyboard.press(key)
    assert page.input_value("#plan-drawn") == "POINT (11 1)"
    page.keyboard.press("Backspace")
    assert page.input_value("#plan-drawn") == ""
    page.keyboard.press("Enter")
    page.focus("text=Save the mark")
    page.keyboard.press("Enter")
    page.wait_for_url("**?saved*")
    assert record_as_saved(PlanMark, "V-1-M1").typed["drawn"] == "POINT (11 1)"

    page.goto(f"{PLAN}?mark=V-1-M1")
    page.focus('[data-does="whole"]')
    page.keyboard.press("Enter")
    page.focus("#plan")
    for key in ("ArrowLeft", "Shift+ArrowDown"):
        page.keyboard.press(key)
    page.focus("text=Save the mark")
    page.keyboard.press("Enter")
    page.wait_for_url("**?saved*")
    assert record_as_saved(PlanMark, "V-1-M1").typed["drawn"] == "POINT (10 -9)"
