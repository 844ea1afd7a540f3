"""The segment table against its own sums and against the usual place of the centre of mass."""

import pytest

from onthree.loads.segments import SEXES, supine_centre_ratio, supine_segments
from onthree.sources import table
from tests.printed import assert_agrees

ROWS = table("de_leva_1996")


@pytest.mark.published("de-leva-1996", where="Table 4: segment masses are percentages of body mass")
@pytest.mark.parametrize(("sex", "printed"), [("male", "100.00"), ("female", "99.99")])
def test_the_segments_are_the_whole_body(sex: str, printed: str) -> None:
    counted = [row for row in ROWS if row["counted"] == "yes"]

    assert_agrees(sum(int(row["count"]) * float(row[f"{sex}_mass"]) for row in counted), printed)
    assert_agrees(100 * sum(segment.mass_ratio for segment in supine_segments(sex)), printed)
    assert len(supine_segments(sex)) == len(counted)


@pytest.mark.published("de-leva-1996", where="Table 4: the whole trunk and its three parts, mass and length")
@pytest.mark.parametrize("sex", SEXES)
def test_the_parts_of_the_trunk_are_the_trunk(sex: str) -> None:
    whole = next(row for row in ROWS if (row["segment"], row["from"]) == ("trunk", "CERV"))
    parts = [row for row in ROWS if row["counted"] == "yes" and row["segment"].endswith(" trunk")]

    assert_agrees(sum(float(row[f"{sex}_mass"]) for row in parts), whole[f"{sex}_mass"])
    assert_agrees(sum(float(row[f"{sex}_length"]) for row in parts), whole[f"{sex}_length"])


@pytest.mark.published("de-leva-1996", where="Table 4: centres of the whole trunk and of its three parts, from CERV")
@pytest.mark.parametrize("sex", SEXES)
def test_the_centres_of_the_parts_give_the_centre_of_the_trunk(sex: str) -> None:
    whole = next(row for row in ROWS if (row["segment"], row["from"]) == ("trunk", "CERV"))
    start, moment, mass = 0.0, 0.0, 0.0
    for row in ROWS:
        if row["counted"] == "yes" and row["segment"].endswith(" trunk"):
            length, part = float(row[f"{sex}_length"]), float(row[f"{sex}_mass"])
            moment += part * (start + float(row[f"{sex}_com"]) / 100 * length)
            start, mass = start + length, mass + part

    # The table does not claim that they agree; they do within a hundredth of the trunk, 6 mm.
    assert 100 * moment / mass / start == pytest.approx(float(whole[f"{sex}_com"]), abs=1)


@pytest.mark.published(
    "common-practice", where="usual textbook range from memory: 55 to 57 % of stature from the soles"
)
@pytest.mark.parametrize("sex", SEXES)
def test_the_centre_of_mass_lies_where_textbooks_put_it(sex: str) -> None:
    assert 0.55 <= supine_centre_ratio(sex) <= 0.57
