"""The order: what makes an edge, what cancels, what is chained, what is refused, and what is said."""

from collections.abc import Iterable

import pytest

from onthree.evidence.contrast import Contrast, Found, Planes
from onthree.evidence.dominance import comparison_lines, dominates, undominated
from onthree.evidence.order import EvidenceOrder, Handled, evidence_order
from onthree.evidence.problems import EvidenceError

WORDS: dict[str, Found] = {"<": "less", ">": "more", "=": "no_difference_found", "?": "not_reported"}


def contrast(text: str, quantity: str = "segment", metric: str = "peak", equipment: str = "any") -> Contrast:
    """``"a <=? b"``: flexion less, lateral no difference found, axial not reported."""
    lower, planes, higher = text.split()
    return Contrast(
        id=f"{lower}-{planes}-{higher}-{quantity}-{metric}-{equipment}",
        lower=lower,
        higher=higher,
        planes=Planes(**dict(zip(("flexion", "lateral", "axial"), map(WORDS.__getitem__, planes), strict=True))),
        measured_quantity=quantity,  # type: ignore[arg-type]
        metric=metric,  # type: ignore[arg-type]
        equipment=equipment,  # type: ignore[arg-type]
        people="not reported",
        stance="not reported",
        subjects="cadavers",
        n=5,
        counted="cadavers",
        source="delrossi-2008",
        where="abstract",
    )


def order_of(*contrasts: str) -> EvidenceOrder:
    return evidence_order(map(contrast, contrasts))


def handled(kinds: Iterable[str]) -> list[Handled]:
    return [Handled(kind) for kind in kinds]


A, B, C = handled("abc")


@pytest.mark.parametrize("planes", ["<<<", "<==", "<??", "?<="])
def test_less_in_some_plane_and_more_in_none_is_an_edge(planes: str) -> None:
    order = order_of(f"a {planes} b")

    assert order.no_worse(A, B)
    assert not order.no_worse(B, A)


def test_more_in_some_plane_is_an_edge_the_other_way() -> None:
    assert order_of("a >=? b").is_better(B, A)


@pytest.mark.parametrize("planes", ["===", "???", "=?="])
def test_no_difference_found_is_not_equality(planes: str) -> None:
    order = order_of(f"a {planes} b", "b <<< c")

    assert not order.no_worse(A, B)
    assert not order.no_worse(B, A)
    assert not order.no_worse(A, C)


def test_a_handling_is_no_worse_than_itself_and_never_better() -> None:
    order = order_of("a <<< b")

    assert order.no_worse(A, A)
    assert not order.is_better(A, A)


def test_less_in_one_plane_and_more_in_another_orders_nothing_and_is_shown() -> None:
    order = order_of("a <=> b")

    assert order.edges == ()
    assert {(each.one.kind, each.other.kind) for each in order.cancelled} == {("a", "b")}


def test_opposed_contrasts_cancel_across_measured_quantities_and_are_shown() -> None:
    there, back = contrast("a <=? b"), contrast("b ?<? a", quantity="head-trunk")
    order = evidence_order([there, back])

    assert order.edges == ()
    assert {(each.for_one, each.for_other) for each in order.cancelled} == {((there,), (back,))}
    assert order.why(A, B).startswith("not ordered: less in flexion or extension")


def test_edges_of_one_quantity_and_metric_are_chained_with_their_contrasts() -> None:
    order = order_of("a <== b", "b <<= c")
    (edge,) = order.by_pair[A, C]

    assert edge.is_derived
    assert [each.id for each in edge.contrasts] == ["a-<==-b-segment-peak-any", "b-<<=-c-segment-peak-any"]
    assert order.why(A, C).startswith("not compared directly; in steps: a against b: less in flexion or extension")


@pytest.mark.parametrize(
    ("quantity", "metric"),
    [("head-trunk", "peak"), ("segment", "range"), ("segment", "not_reported"), ("segment", "other")],
)
def test_unlike_quantities_or_metrics_are_never_chained(quantity: str, metric: str) -> None:
    order = evidence_order([contrast("a <== b"), contrast("b <<= c", quantity=quantity, metric=metric)])

    assert order.is_better(A, B)
    assert order.is_better(B, C)
    assert not order.no_worse(A, C)
    assert order.why(A, C) == "no source compares them"


def test_two_metrics_not_reported_are_not_one_metric() -> None:
    order = evidence_order([contrast(text, metric="not_reported") for text in ("a <== b", "b <== c")])

    assert not order.no_worse(A, C)


def test_equipment_matters_where_the_contrast_says_so() -> None:
    order = evidence_order([contrast("a <== b", equipment="on"), contrast("b <== a", equipment="off")])

    assert order.is_better(Handled("a", "on"), Handled("b", "on"))
    assert order.is_better(Handled("b", "off"), Handled("a", "off"))
    assert not order.is_better(A, B)
    assert not order.is_better(Handled("a", "on"), Handled("b", "off"))
    assert order.cancelled == ()


@pytest.mark.parametrize("equipment", ["any", "not_reported"])
def test_a_contrast_that_does_not_say_holds_for_each(equipment: str) -> None:
    order = evidence_order([contrast("a <== b", equipment=equipment)])

    assert [order.is_better(Handled("a", worn), Handled("b", worn)) for worn in ("on", "off", "not_known")] == [
        True
    ] * 3


def test_a_circle_is_refused_even_across_quantities() -> None:
    with pytest.raises(EvidenceError, match="in a circle"):
        evidence_order([contrast("a <== b"), contrast("b <== c", quantity="head-trunk"), contrast("c <== a")])


def test_a_chain_that_a_contrast_speaks_against_is_refused() -> None:
    with pytest.raises(EvidenceError, match="a-<=>-c-segment-peak-any found more in some plane"):
        order_of("a <== b", "b <== c", "a <=> c")


def test_what_found_no_difference_is_said_beside_the_edge() -> None:
    order = evidence_order([contrast("a <<< b", quantity="head-trunk"), contrast("a === b")])

    assert "| beside it, flexion or extension, lateral bending and axial rotation: no difference" in order.why(A, B)
    assert order.why(B, A).startswith("the other way round: less in")


def test_fewer_handlings_dominate_and_the_same_ones_do_not() -> None:
    order = order_of("a <== b")

    assert dominates(handled("c"), handled("cb"), order)
    assert dominates(handled("ac"), handled("cb"), order)
    assert dominates([], handled("a"), order)
    assert not dominates(handled("aa"), handled("b"), order)
    assert not dominates(handled("ab"), handled("ba"), order)
    assert not dominates(handled("d"), handled("e"), order)


def test_each_handling_needs_one_of_its_own() -> None:
    order = order_of("a <== c", "b <== c", "b <== d")

    assert dominates(handled("ab"), handled("cd"), order)
    assert not dominates(handled("ab"), handled("ce"), order)


def test_a_pairing_gives_way_when_the_next_handling_needs_it() -> None:
    order = order_of("a <== c", "a <== d", "b <== c")

    assert dominates(handled("ab"), handled("cd"), order)
    assert comparison_lines(order, handled("ab"), handled("cd"))[0].startswith("a instead of d: ")


def test_equal_options_all_stay() -> None:
    assert undominated([handled("ab"), handled("ba"), handled("cb"), handled("bcb")], order_of("a <== c")) == (0, 1)


def test_the_lines_say_what_is_the_same_what_is_better_what_is_left_out_and_what_it_is_not() -> None:
    lines = comparison_lines(order_of("a <== b"), handled("ax"), handled("xbc"))

    assert lines == (
        "The same in both: x.",
        "a instead of b: less in flexion or extension; lateral bending and axial rotation: no difference found; "
        "5 cadavers; one segment of the neck across an injury, peak; equipment any [delrossi-2008].",
        "Without: c.",
        "Cadavers, often of great age: not an athlete in equipment.",
        "Motion of one segment across an injury: not head on trunk.",
    )


def test_the_lines_say_when_the_evidence_does_not_decide() -> None:
    order = order_of("a <== b", "a === c")

    assert comparison_lines(order, handled("xx"), handled("xx")) == ("The same handlings: nothing to compare.",)
    assert comparison_lines(order, handled("xx"), handled("yz")) == (
        "The evidence does not put 2 times x before y, z.",
        "No source compares them.",
    )
    assert any("a against c: not ordered: " in line for line in comparison_lines(order, handled("a"), handled("c")))
    assert any("the other way round" in line for line in comparison_lines(order, handled("b"), handled("a")))
