"""The means of the published checks themselves: the mark that names the source, and the agreement with a print."""

from collections.abc import Iterator
from dataclasses import dataclass

import pytest

from tests.printed import assert_agrees
from tests.published.conftest import what_is_wrong

KEYS = frozenset({"listed-1999"})


@dataclass(frozen=True)
class Marked:
    """Stands in for a collected test with these marks."""

    marks: tuple[pytest.MarkDecorator, ...]

    def iter_markers(self, name: str) -> Iterator[pytest.Mark]:
        return iter(decorator.mark for decorator in self.marks if decorator.name == name)


@pytest.mark.parametrize(
    ("marks", "complaint"),
    [
        ((), "no source given"),
        ((pytest.mark.published("listed-1999"),), "where"),
        ((pytest.mark.published("listed-1999", where=""),), "where"),
        ((pytest.mark.published(where="Table 2"),), "where"),
        ((pytest.mark.published("other-1999", where="Table 2"),), "'other-1999' is not listed"),
    ],
)
def test_a_published_check_without_source_is_refused(marks: tuple[pytest.MarkDecorator, ...], complaint: str) -> None:
    assert complaint in what_is_wrong(Marked(marks), KEYS)


def test_a_published_check_with_its_source_is_accepted() -> None:
    assert what_is_wrong(Marked((pytest.mark.published("listed-1999", where="Table 2"),)), KEYS) == ""


@pytest.mark.parametrize(
    ("computed", "printed"), [(12.349, "12.3"), (12.35, "12.3"), (12.25, "12.3"), (1249, "1.2E+3"), (-0.004, "0.00")]
)
def test_what_rounds_to_the_print_agrees(computed: float, printed: str) -> None:
    assert_agrees(computed, printed)


@pytest.mark.parametrize(
    ("computed", "printed"), [(12.351, "12.3"), (12.3, "12.4"), (12.349, "12.30"), (float("inf"), "12"), (12, "-12")]
)
def test_what_does_not_round_to_the_print_disagrees(computed: float, printed: str) -> None:
    with pytest.raises(AssertionError, match="printed"):
        assert_agrees(computed, printed)


def test_not_a_number_agrees_with_nothing() -> None:
    with pytest.raises(AssertionError):
        assert_agrees(float("nan"), "12.3")


def test_slack_widens_the_band_by_last_digits() -> None:
    assert_agrees(12.45, "12.3", slack_digits=1)
    with pytest.raises(AssertionError):
        assert_agrees(12.46, "12.3", slack_digits=1)
