"""The page on how good a film was, as PDF and as HTML."""

from dataclasses import replace
from datetime import date

from onthree.documents.quality import QualityPage, TagLine, quality_html, quality_pdf

NAN = float("nan")
TAG = TagLine(
    id=7,
    segment="head",
    seen_ratio=0.5,
    side_px=42.4,
    residual_px=0.0456,
    moved_mm=9.81,
    turned_deg=4.4,
    is_left_out=False,
)
PAGE = QualityPage(
    on=date(2026, 11, 25),
    title="How good the film was: roll.mp4",
    said="Invented.",
    facts=[("Frames", "60")],
    seen_ratio={"head": [1.0, 0.5, NAN, 0.0]},
    last_s=2.0,
    lost=[("head", "0.40 s", "0.70 s", "10 frames: one tag, two readings apart by 46 degrees")],
    tags=[TAG, replace(TAG, id=8, seen_ratio=0.0, side_px=NAN, residual_px=NAN, moved_mm=NAN, turned_deg=NAN)],
    widened=[("roll", "peak total", "1.0 to 2.0 degrees", "measurement noise 90%")],
    rung="Second rung",
    lifts=["a second phone"],
    noticed=[],
    cautions=["No motion is called safe."],
)


def test_pdf_is_one_page_and_the_same_each_time() -> None:
    pdf = quality_pdf(PAGE)

    assert pdf.startswith(b"%PDF")
    assert pdf == quality_pdf(PAGE)


def test_html_says_it_all() -> None:
    page = quality_html(replace(PAGE, said="<b>1 & 2</b>"))

    for words in ("42 px", "0.046 px", "9.8 mm, 4.4 deg", "never seen", "head: 50%", "a second phone", "called safe"):
        assert words in page
    assert "<b>" not in page
    assert "nan" not in page


def test_stretches_that_are_not_known_stand_with_their_reason_if_there_are_any() -> None:
    assert "10 frames: one tag, two readings apart by 46 degrees" in quality_html(PAGE)
    assert "<h2>Not known</h2>" not in quality_html(replace(PAGE, lost=[]))
    assert quality_pdf(replace(PAGE, lost=[])) != quality_pdf(PAGE)


def test_a_tag_that_slipped_says_so() -> None:
    assert "does not hold still: left out" in quality_html(replace(PAGE, tags=[replace(TAG, is_left_out=True)]))
