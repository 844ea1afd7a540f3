"""The drawing of the angles: gaps stay empty, no peak is lost in a long film, text cannot become markup."""

import xml.etree.ElementTree as ElementTree

import numpy as np
import pytest

from onthree.documents.traces import MOST_STRETCHES, TracedPhase, Traces, lost_s, thinned, traces_svg

SVG = "{http://www.w3.org/2000/svg}"
NAN = float("nan")


def traces(count: int = 200, lost: slice = slice(0, 0), name: str = "log roll") -> Traces:
    """Sines of three planes and their total, with a phase."""
    time_s = np.arange(count) / 30
    angles_deg = 10 * np.sin(time_s[:, None] * [1.0, 1.5, 2.0, 0.5])
    angles_deg[:, 3] = np.abs(angles_deg[:, 3])
    angles_deg[lost] = np.nan
    phase = TracedPhase(
        name=name,
        start_s=1.0,
        end_s=4.0,
        peak_s=3.0,
        head_first_s=1.2,
        body_first_s=NAN,
        first_size="first degree",
    )
    return Traces(
        title="Head on trunk",
        said="invented",
        time_s=time_s,
        angles_deg=angles_deg,
        half_bands_deg=np.full((count, 4), 0.5),
        phases=[phase],
    )


def parts(drawing: str, kind: str, of: str) -> list[ElementTree.Element]:
    """The elements of a drawing of one kind and class."""
    return [each for each in ElementTree.fromstring(drawing).iter(SVG + kind) if each.get("class") == of]


def test_a_gap_breaks_lines_and_bands() -> None:
    whole, broken = traces_svg(traces()), traces_svg(traces(lost=slice(60, 90)))

    assert len(parts(whole, "polyline", "angle")) == len(parts(whole, "polygon", "band")) == 4
    assert parts(whole, "rect", "lost") == []
    assert len(parts(broken, "polyline", "angle")) == len(parts(broken, "polygon", "band")) == 8
    assert len(parts(broken, "rect", "lost")) == 4
    assert "not seen" in broken


def test_first_degrees_and_peak_are_marked_where_they_are_known() -> None:
    drawing = traces_svg(traces())

    assert len(parts(drawing, "line", "start")) == 1, "the first degree of the body is not known"
    assert "head: first degree" in drawing
    assert len(parts(drawing, "line", "peak")) == 1
    assert "peak at 3.00 s" in drawing


def test_nothing_known_is_drawn_as_nothing() -> None:
    drawing = traces_svg(traces(lost=slice(None)))

    assert parts(drawing, "polyline", "angle") == []
    assert len(parts(drawing, "rect", "lost")) == 4


def test_text_is_no_markup() -> None:
    drawing = traces_svg(traces(name='<script>"&'))

    assert "<script>" not in drawing
    ElementTree.fromstring(drawing)


@pytest.mark.parametrize("count", [200, 36_000])
def test_no_peak_is_lost_when_a_long_film_is_thinned_out(count: int) -> None:
    rng = np.random.default_rng(1)
    value = rng.normal(0, 1, count)
    value[count // 3], value[count // 2] = 25.0, -17.0
    (only,) = thinned(np.arange(count) / 30, value, value - 0.1, value + 0.1)

    assert only.line.max() == 25.0
    assert only.line.min() == -17.0
    assert only.high.max() == pytest.approx(25.1)
    assert (np.diff(only.line_s) > 0).all()
    assert len(only.line) <= 2 * (MOST_STRETCHES + 1)


def test_lost_stretches_reach_to_what_is_known() -> None:
    time_s = np.arange(6.0)
    is_known = np.array([False, True, False, False, True, False])

    assert lost_s(time_s, is_known) == [(0.0, 1.0), (1.0, 4.0), (4.0, 5.0)]
