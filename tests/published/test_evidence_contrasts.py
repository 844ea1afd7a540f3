"""Each contrast comes out as its source printed it, and none is lent to a kind of handling that was not compared."""

import pytest
from scipy.stats import f as f_distribution

from onthree.evidence.contrast import Contrast, bundled_contrasts
from onthree.evidence.dominance import dominates
from onthree.evidence.measured import what_it_is_not
from onthree.evidence.order import Handled, bundled_order
from tests.printed import assert_agrees

ORDER = bundled_order()
WORDS = {"<": "less", ">": "more", "=": "no_difference_found", "?": "not_reported"}


def contrast(lower: str, higher: str, source: str, equipment: str | None = None) -> Contrast:
    (found,) = (
        each
        for each in bundled_contrasts()
        if (each.lower, each.higher, each.source) == (lower, higher, source) and equipment in (None, each.equipment)
    )
    return found


@pytest.mark.parametrize(
    ("lower", "higher", "planes", "quantity", "sample", "source"),
    [
        pytest.param("six-plus lift", "log roll, supine", "=<<", "segment", "5 cadavers", "delrossi-2008",
            marks=pytest.mark.published("delrossi-2008", where="abstract: P = .008 and .005; flexion the same")),
        pytest.param("lift-and-slide", "log roll, supine", "=<<", "segment", "5 cadavers", "delrossi-2008",
            marks=pytest.mark.published("delrossi-2008", where="abstract: P = .001 and .003; flexion the same")),
        pytest.param("eight-person lift", "log roll, supine", "=<=", "segment", "5 cadavers", "prasarn-2015",
            marks=pytest.mark.published("prasarn-2015", where="abstract: least, lateral bending P = .031")),
        pytest.param("eight-person lift", "lift-and-slide", "=<=", "segment", "5 cadavers", "prasarn-2015",
            marks=pytest.mark.published("prasarn-2015", where="abstract: least, lateral bending P = .031")),
        pytest.param("scoop", "log roll, supine", "===", "segment", "5 cadavers", "delrossi-2010",
            marks=pytest.mark.published("delrossi-2010", where="abstract: not statistically significant")),
        pytest.param("log roll, push", "log roll, pull", "?<?", "segment", "5 cadavers", "conrad-2013",
            marks=pytest.mark.published("conrad-2013", where="abstract: pull 16 % more lateral bending")),
        pytest.param("equipment removal, elevated torso", "equipment removal, flat torso", "<<=", "segment",
            "5 cadavers", "horodyski-2009",
            marks=pytest.mark.published("horodyski-2009", where="abstract: P = .015, .001, .052")),
        pytest.param("face mask off, then helmet off", "helmet off, mask on", "<?<", "segment", "5 cadavers",
            "dubose-2015", marks=pytest.mark.published("dubose-2015", where="abstract: P = .023 and .023")),
        pytest.param("vacuum mattress", "long board alone", "==<", "segment", "5 cadavers", "prasarn-2017",
            marks=pytest.mark.published("prasarn-2017", where="abstract: application, axial rotation P = .011")),
        pytest.param("lift-and-slide", "log roll, supine", "?<<", "head-trunk", "2 stand-ins", "delrossi-2003",
            marks=pytest.mark.published("delrossi-2003", where="abstract: lateral flexion and axial rotation")),
        pytest.param("lift-and-slide", "log roll, supine", "???", "head-trunk", "12 lead rescuers", "boissy-2011",
            marks=pytest.mark.published("boissy-2011", where="abstract: superior, planes not given")),
        pytest.param("log roll, trap squeeze", "log roll, head squeeze", "<=<", "head-trunk", "12 lead rescuers",
            "boissy-2011", marks=pytest.mark.published("boissy-2011", where="abstract: extension and rotation")),
        pytest.param("motorised board", "log roll, supine", "=<<", "head-trunk", "13 rescuers, three runs each",
            "swartz-2005", marks=pytest.mark.published("swartz-2005", where="abstract: both P = .001; P = .028")),
        pytest.param("scoop", "log roll, supine", "<<<", "head-trunk", "31 adults", "krell-2006",
            marks=pytest.mark.published("krell-2006", where="abstract: 6 to 8 degrees in all three planes")),
        pytest.param("long board lift", "scoop lift", "<??", "head-trunk", "31 adults", "krell-2006",
            marks=pytest.mark.published("krell-2006", where="abstract: lifting phase, sagittal flexion")),
        pytest.param("log roll, prone, hockey helmet off", "log roll, prone, hockey helmet on", "<=<", "head-trunk",
            "18 players", "mihalik-2008", marks=pytest.mark.published("mihalik-2008", where="abstract")),
    ],
)  # fmt: skip
def test_contrasts_come_out_as_published(
    lower: str, higher: str, planes: str, quantity: str, sample: str, source: str
) -> None:
    found = contrast(lower, higher, source)

    assert [what for _, what in found.planes] == [WORDS[sign] for sign in planes]
    assert (found.measured_quantity, found.sample) == (quantity, sample)


@pytest.mark.published("conrad-2013", where="abstract: F 1,4 = 19.922, P = .01, eta squared .833, 5 cadavers")
def test_the_printed_statistics_of_push_and_pull_fit_five_cadavers() -> None:
    found = contrast("log roll, push", "log roll, pull", "conrad-2013")
    f_ratio = 19.922
    rest_count = found.n - 1 if found.n else 0

    assert "F 1,4 = 19.922" in found.printed
    assert rest_count == 4
    assert_agrees(float(f_distribution.sf(f_ratio, 1, rest_count)), ".01")
    assert_agrees(f_ratio / (f_ratio + rest_count), ".833")


@pytest.mark.published("prasarn-2015", where="abstract: with helmet and shoulder pads fitted")
def test_what_was_measured_with_equipment_on_orders_nothing_without() -> None:
    one, other = "eight-person lift", "log roll, supine"

    assert ORDER.is_better(Handled(one, "on"), Handled(other, "on"))
    assert not ORDER.is_better(Handled(one, "off"), Handled(other, "off"))
    assert not ORDER.is_better(Handled(one), Handled(other))


@pytest.mark.published("six-plus-straddle", where="abstract: axial rotation in both conditions; three and six lifters")
@pytest.mark.parametrize("equipment", ["on", "off"])
def test_the_straddle_lift_rotates_less_than_the_six_plus_lift(equipment: str) -> None:
    found = contrast("straddle lift", "six-plus lift", "six-plus-straddle", equipment)

    assert found.planes.axial == "less"
    assert found.planes.flexion == "not_reported"
    assert found.stance == "straddling against sides"
    assert found.people == "8 from the sides; 5 straddling"


@pytest.mark.published("delrossi-2008", where="abstract: each against the log roll, not against each other")
@pytest.mark.published("prasarn-2015", where="abstract: eight-person lift against lift-and-slide")
@pytest.mark.published("six-plus-straddle", where="abstract: straddle lift against six-plus lift")
def test_lifts_are_separate_arms_and_lend_each_other_nothing() -> None:
    lifts = ["lift-and-slide", "six-plus lift", "eight-person lift", "straddle lift"]
    ordered = {(a, b) for a in lifts for b in lifts if ORDER.is_better(Handled(a, "on"), Handled(b, "on"))}

    assert ordered == {("eight-person lift", "lift-and-slide"), ("straddle lift", "six-plus lift")}


@pytest.mark.published("six-plus-straddle", where="abstract: head against torso, volunteers")
@pytest.mark.published("delrossi-2008", where="abstract: C5-C6, cadavers")
def test_head_on_trunk_and_a_segment_are_not_chained() -> None:
    straddle, six_plus, log_roll = (
        Handled(kind, "on") for kind in ("straddle lift", "six-plus lift", "log roll, supine")
    )

    assert ORDER.is_better(straddle, six_plus)
    assert ORDER.is_better(six_plus, log_roll)
    assert not ORDER.no_worse(straddle, log_roll)
    assert not dominates([straddle], [log_roll], ORDER)


@pytest.mark.published("horodyski-2009", where="abstract: elevated torso less")
@pytest.mark.published("lenhardt-2015", where="abstract: flat torso less after reinforced training")
def test_flat_and_elevated_torso_cancel_and_are_shown() -> None:
    elevated, flat = (Handled(f"equipment removal, {how} torso", "on") for how in ("elevated", "flat"))
    (cancelled,) = ORDER.cancelled

    assert {cancelled.one, cancelled.other} == {elevated, flat}
    assert {each.source for each in (*cancelled.for_one, *cancelled.for_other)} == {"horodyski-2009", "lenhardt-2015"}
    assert not ORDER.no_worse(elevated, flat)
    assert not ORDER.no_worse(flat, elevated)
    assert ORDER.why(elevated, flat).startswith("not ordered: ")


@pytest.mark.published("krell-2006", where="abstract: scoop less when applied, more in the lift")
@pytest.mark.published("delrossi-2010", where="abstract: no significant difference")
def test_the_scoop_is_better_when_applied_worse_when_lifted_and_said_not_to_differ_elsewhere() -> None:
    applied, log_roll = Handled("scoop"), Handled("log roll, supine")

    assert ORDER.is_better(applied, log_roll)
    assert ORDER.is_better(Handled("long board lift"), Handled("scoop lift"))
    assert "no difference found; 5 cadavers" in ORDER.why(applied, log_roll)
    assert not dominates([applied, Handled("scoop lift")], [log_roll, Handled("long board lift")], ORDER)


@pytest.mark.published(
    "common-practice", where="common practice, no source: what an awake stand-in and a segment are not"
)
def test_volunteers_and_segments_carry_what_they_are_not() -> None:
    said = {
        each.measured_quantity: " ".join(what_it_is_not(each))
        for each in bundled_contrasts()
        if each.subjects in ("volunteers", "cadavers")
    }

    assert "Awake volunteers; a limp neck may move more." in said["head-trunk"]
    assert "not head on trunk" in said["segment"]


@pytest.mark.published(
    "boissy-2011", where="abstract: head squeeze moved more in the log roll, not in the lift-and-slide"
)
def test_the_grip_matters_in_the_log_roll_only() -> None:
    def is_better(one: str, other: str) -> bool:
        return ORDER.is_better(Handled(one), Handled(other))

    assert is_better("log roll, trap squeeze", "log roll, head squeeze")
    assert not is_better("lift-and-slide, trap squeeze", "lift-and-slide, head squeeze")


@pytest.mark.published("common-practice", where="common practice, no source: a chain says what each of its steps says")
def test_every_bundled_chain_is_less_in_one_plane_throughout() -> None:
    for edge in ORDER.edges:
        planes = [set(contrast.planes.which("less")) for contrast in edge.contrasts]
        assert not edge.is_derived or set.intersection(*planes)
