"""Printed tables: comment lines are not rows, and a value stays the text that was printed."""

from onthree.sources import table


def test_rows_hold_the_printed_text_by_column() -> None:
    rows = table("de_leva_1996")

    assert len(rows) == 16
    assert rows[11]["segment"] == "hand"
    assert rows[11]["male_com"] == "79.00"


def test_a_table_is_read_once() -> None:
    assert table("de_leva_1996") is table("de_leva_1996")
