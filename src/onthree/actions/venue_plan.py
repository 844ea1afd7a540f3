"""The drawn plan of a venue: its field at true size, its marks, and the same as GeoJSON (RFC 7946) and back."""

import csv
import io
import json
from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, degrees, hypot, radians, sin, sqrt
from typing import Any

from onthree.actions.records import record_as_saved
from onthree.programme.drawn_plan import Drawn, DrawnError, Point, drawn_of, read_drawn
from onthree.programme.fields import fields_of
from onthree.programme.places import MARK_KINDS
from onthree.programme.records import PlanMark, Venue
from onthree.sources import table

MOST_MARKS = 500
_TYPES = {"POINT": "Point", "LINESTRING": "LineString", "POLYGON": "Polygon"}
_SHAPES = {geojson: shape for shape, geojson in _TYPES.items()}
_PLACES = 8  # of a degree: about a millimetre, so that centimetres come back the same


class PlanFileError(ValueError):
    """A GeoJSON file that cannot become marks; carries every problem."""

    def __init__(self, problems: Sequence[str]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(problems))


@dataclass(frozen=True)
class FieldSize:
    """A field that plans are drawn on: length and width [m], and where they come from."""

    name: str
    length_m: float
    width_m: float
    where: str


@dataclass(frozen=True)
class Plan:
    """A venue, its field where one is drawn, and its marks with their drawings."""

    venue: Venue
    field: FieldSize | None
    marks: tuple[tuple[PlanMark, Drawn], ...]

    @property
    def is_on_map(self) -> bool:
        """Whether the plan is tied to latitude and longitude."""
        return None not in (self.venue.latitude_deg, self.venue.longitude_deg, self.venue.bearing_deg)


def field_size(name: str | None) -> FieldSize | None:
    """The size of a field by name, None for none."""
    for row in table("field_sizes"):
        if row["field"] == name:
            return FieldSize(name, float(row["length"]), float(row["width"]), row["where"])
    return None


def plan_of(venue_code: str, organisation_code: str | None = None) -> Plan:
    """The plan of a venue as it is saved. Raises NotFoundError."""
    from onthree.store.listing import list_records

    venue = record_as_saved(Venue, venue_code, organisation_code).record
    assert isinstance(venue, Venue)
    found = list_records(
        PlanMark, where={"venue": venue_code}, order=("kind",), most=MOST_MARKS, organisation_code=organisation_code
    ).records
    marks = tuple((each, read_drawn(each.drawn)) for each in found if isinstance(each, PlanMark))
    return Plan(venue, field_size(venue.drawn_field), marks)


def geojson_of(plan: Plan) -> dict[str, Any]:
    """The marks as a GeoJSON FeatureCollection. Raises ValueError where the plan is not tied to a map."""
    if not plan.is_on_map:
        raise ValueError(f"{plan.venue.code}: latitude, longitude and where the field points expected: add them")
    features = [
        {"type": "Feature", "id": mark.code, "geometry": _geometry(drawn, plan.venue), "properties": _properties(mark)}
        for mark, drawn in plan.marks
    ]
    return {"type": "FeatureCollection", "features": features}


def local_plan_of(plan: Plan) -> dict[str, Any]:
    """The marks in metres from the centre of the field: no GeoJSON, and named so."""
    marks = [_properties(mark) | {"code": mark.code, "points_m": [list(point) for point in drawn.points],
                                  "shape": _TYPES[drawn.shape]} for mark, drawn in plan.marks]  # fmt: skip
    told = "Metres from the centre of the field: x along it to the right, y across it upwards. This is not GeoJSON."
    return {"what": "plan of a venue in local metres", "read_me": told, "venue": plan.venue.code, "marks": marks}


def marks_sheet(content: bytes, plan: Plan) -> bytes:
    """A GeoJSON file as the sheet of plan marks (CSV), so that it is previewed and imported as any workbook is.

    A feature without an id gets the code of its venue and its number. Raises PlanFileError with every problem.
    """
    if not plan.is_on_map:
        raise PlanFileError(["the venue is not tied to a map: add latitude, longitude and where its field points"])
    try:
        document = json.loads(content)
    except ValueError:
        raise PlanFileError(["no JSON given, a GeoJSON file (RFC 7946) expected: choose another file"]) from None
    features = document.get("features") if isinstance(document, dict) else None
    if not isinstance(features, list) or document.get("type") != "FeatureCollection" or not features:
        raise PlanFileError(["no FeatureCollection with features given, one expected: export the file again"])
    rows, problems = [], []
    for number, feature in enumerate(features, start=1):
        try:
            rows.append(_row(number, feature, plan.venue))
        except ValueError as error:
            problems.append(f"feature {number}: {error}")
    if problems:
        raise PlanFileError(problems)
    out = io.StringIO()
    csv.writer(out).writerows([[field.header for field in fields_of(PlanMark)], *rows])
    return out.getvalue().encode()


def on_map_deg(point: Point, venue: Venue) -> tuple[float, float]:
    """Longitude and latitude [deg] of a point of the plan, on a plane that touches the ellipsoid at the centre.

    Within 2 km that is good to a metre; ground that slopes is neglected.
    """
    bearing_rad = radians(venue.bearing_deg or 0.0)
    east_m = point.x_m * sin(bearing_rad) - point.y_m * cos(bearing_rad)
    north_m = point.x_m * cos(bearing_rad) + point.y_m * sin(bearing_rad)
    north_deg_m, east_deg_m = degree_lengths_m(venue.latitude_deg or 0.0)
    longitude_deg = (venue.longitude_deg or 0.0) + east_m / east_deg_m
    return round(longitude_deg, _PLACES), round((venue.latitude_deg or 0.0) + north_m / north_deg_m, _PLACES)


def from_degrees(longitude_deg: float, latitude_deg: float, venue: Venue) -> Point:
    """The point of the plan at a longitude and latitude [deg]; the other way round."""
    north_deg_m, east_deg_m = degree_lengths_m(venue.latitude_deg or 0.0)
    turned_deg = (longitude_deg - (venue.longitude_deg or 0.0) + 180.0) % 360.0 - 180.0
    east_m, north_m = turned_deg * east_deg_m, (latitude_deg - (venue.latitude_deg or 0.0)) * north_deg_m
    bearing_rad = radians(venue.bearing_deg or 0.0)
    x_m = east_m * sin(bearing_rad) + north_m * cos(bearing_rad)
    return Point(round(x_m, 2), round(north_m * sin(bearing_rad) - east_m * cos(bearing_rad), 2))


def degree_lengths_m(latitude_deg: float) -> tuple[float, float]:
    """How long a degree of latitude and one of longitude are [m] at a latitude, from the radii of the ellipsoid."""
    values = {row["name"]: float(row["value"]) for row in table("wgs84")}
    flattening_ratio = 1 / values["flattening"]
    squared_ratio = flattening_ratio * (2 - flattening_ratio)  # first eccentricity, squared
    bent_ratio = 1 - squared_ratio * sin(radians(latitude_deg)) ** 2
    across_m = values["semi_major_axis"] / sqrt(bent_ratio)  # radius in the prime vertical
    along_m = across_m * (1 - squared_ratio) / bent_ratio  # radius in the meridian
    return along_m / degrees(1), across_m * cos(radians(latitude_deg)) / degrees(1)


def _properties(mark: PlanMark) -> dict[str, Any]:
    return {"kind": mark.kind, "label": mark.label, "note": mark.note}


def _geometry(drawn: Drawn, venue: Venue) -> dict[str, Any]:
    """An outer ring runs against the clock and ends where it began (RFC 7946, section 3.1.6)."""
    points = list(drawn.points)
    if drawn.shape == "POLYGON":
        points = points if _doubled_area_is_positive(points) else points[::-1]
        points.append(points[0])
    positions = [list(on_map_deg(point, venue)) for point in points]
    shapes = {"POINT": positions[0], "LINESTRING": positions, "POLYGON": [positions]}
    return {"type": _TYPES[drawn.shape], "coordinates": shapes[drawn.shape]}


def _doubled_area_is_positive(points: Sequence[Point]) -> bool:
    after = [*points[1:], points[0]]
    return sum(a.x_m * b.y_m - b.x_m * a.y_m for a, b in zip(points, after, strict=True)) > 0


def _row(number: int, feature: Any, venue: Venue) -> list[str]:
    """One feature as a row of the sheet. Raises ValueError."""
    properties = feature.get("properties") if isinstance(feature, dict) else None
    about = properties if isinstance(properties, dict) else {}
    kind = str(about.get("kind", ""))
    if kind not in MARK_KINDS:
        raise ValueError(f"kind {kind!r} given, one of these expected: {', '.join(MARK_KINDS)}")
    drawn = _drawn(feature.get("geometry"), venue)
    code = str(feature.get("id") or f"{venue.code}-{number}")
    return [code, venue.code, kind, str(about.get("label") or ""), str(drawn), str(about.get("note") or "")]


def _drawn(geometry: Any, venue: Venue) -> Drawn:
    shape = _SHAPES.get(geometry.get("type", "")) if isinstance(geometry, dict) else None
    if shape is None:
        raise ValueError("a Point, LineString or Polygon expected: split other geometries into these")
    given = geometry.get("coordinates")
    rings = given if shape == "POLYGON" else [given]
    if not isinstance(rings, list) or len(rings) != 1:
        raise ValueError("one ring expected: an area with holes cannot be drawn here")
    positions = [given] if shape == "POINT" else rings[0]
    try:
        points = [from_degrees(float(each[0]), float(each[1]), venue) for each in positions]
    except (TypeError, ValueError, IndexError, KeyError):
        raise ValueError("positions of longitude and latitude expected: export the file again") from None
    if any(not hypot(*point) < 1e6 for point in points):
        raise ValueError("positions near the venue expected: is it longitude first, then latitude?")
    try:
        return drawn_of(shape, points)
    except DrawnError as error:
        raise ValueError(f"{error.expected} expected: {error.fix}") from None
