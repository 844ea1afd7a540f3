"""Agreement with a printed number, as far as the print can tell."""

from decimal import Decimal


def assert_agrees(computed: float | Decimal, printed: str, slack_digits: float = 0) -> None:
    """Assert that a computed number would be printed as ``printed``: within half of its last digit.

    ``slack_digits`` widens the band by that many units of the last printed digit, for a source whose own inputs
    were rounded; the test says why. ``"12.30"`` is printed to hundredths, ``"1.2E+3"`` to hundreds.
    """
    number = Decimal(printed)
    last_digit = Decimal(1).scaleb(number.as_tuple().exponent)
    band = (Decimal("0.5") + Decimal(str(slack_digits))) * last_digit
    difference = abs(Decimal(str(computed)) - number)

    assert difference.is_finite(), f"{computed} computed, {printed} printed"
    assert difference <= band, f"{computed} computed, {printed} printed: they differ by {difference}, allowed is {band}"
