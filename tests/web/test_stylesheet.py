"""Text can be read: contrast as WCAG 2.2 defines it (relative luminance; success criteria 1.4.3 and 1.4.11)."""

import re

import pytest

from tests.house.tree import PACKAGE

STYLESHEET = (PACKAGE / "web" / "static" / "onthree" / "onthree.css").read_text(encoding="utf-8")
LEAST_FOR_TEXT, LEAST_FOR_EDGES = 4.5, 3.0
TEXT_ON_GROUND = (
    ("ink", "paper"),
    ("quiet", "paper"),
    ("accent", "paper"),
    ("on-accent", "accent"),
    ("on-call", "call"),
    ("ink", "faint"),
    ("quiet", "faint"),
)


def tokens(after: str) -> dict[str, str]:
    """The colours of the first block of tokens after a text in the stylesheet; those of the light scheme below them."""
    first, asked = (STYLESHEET.partition(mark)[2].partition("}")[0] for mark in (":root", after))
    pairs = re.findall(r"--([a-z-]+):\s*(#[0-9a-f]+)", first) + re.findall(r"--([a-z-]+):\s*(#[0-9a-f]+)", asked)
    return dict(pairs)


SCHEMES = {"light": tokens(":root"), "dark": tokens("(prefers-color-scheme: dark)"), "print": tokens("@media print")}


def luminance_ratio(colour: str) -> float:
    digits = colour[1:] if len(colour) == 7 else "".join(digit * 2 for digit in colour[1:])
    parts = [int(digits[place : place + 2], 16) / 255 for place in (0, 2, 4)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast_ratio(one: str, other: str) -> float:
    darker, lighter = sorted((luminance_ratio(one), luminance_ratio(other)))
    return (lighter + 0.05) / (darker + 0.05)


def test_contrast_is_21_between_black_and_white() -> None:
    assert contrast_ratio("#000", "#ffffff") == pytest.approx(21)


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize(("text", "ground"), TEXT_ON_GROUND)
def test_text_can_be_read(scheme: str, text: str, ground: str) -> None:
    colours = SCHEMES[scheme]

    assert contrast_ratio(colours[text], colours[ground]) >= LEAST_FOR_TEXT


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("ground", ["paper", "faint"])
def test_edges_of_entries_can_be_seen(scheme: str, ground: str) -> None:
    assert contrast_ratio(SCHEMES[scheme]["edge"], SCHEMES[scheme][ground]) >= LEAST_FOR_EDGES


def test_the_stylesheet_asks_nobody_else() -> None:
    assert "url(" not in STYLESHEET
    assert "@import" not in STYLESHEET
