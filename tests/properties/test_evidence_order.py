"""The evidence order and dominance by it, against their definitions on random contrasts and options."""

from collections import Counter
from graphlib import TopologicalSorter
from itertools import permutations

from hypothesis import given
from hypothesis import strategies as st

from onthree.evidence.contrast import Contrast, Planes
from onthree.evidence.dominance import dominates, undominated
from onthree.evidence.order import EvidenceOrder, Handled, evidence_order

KINDS = "abcdef"
FOUND = st.sampled_from(["less", "no_difference_found", "not_reported"])
LAYERS = [("segment", "peak"), ("head-trunk", "peak"), ("segment", "range"), ("segment", "not_reported")]


@st.composite
def contrasts(draw: st.DrawFn, layers: int) -> list[Contrast]:
    """Contrasts that go in no circle: the lower kind stands earlier in the alphabet."""
    pairs = [(low, high) for low in KINDS for high in KINDS if low < high]
    found = draw(st.lists(st.tuples(st.sampled_from(pairs), FOUND, FOUND, st.integers(0, layers - 1)), max_size=9))
    return [
        Contrast(
            id=str(number),
            lower=low,
            higher=high,
            planes=Planes(flexion=flexion, lateral=lateral, axial="no_difference_found"),  # type: ignore[arg-type]
            measured_quantity=LAYERS[layer][0],  # type: ignore[arg-type]
            metric=LAYERS[layer][1],  # type: ignore[arg-type]
            equipment="any",
            people="not reported",
            stance="not reported",
            subjects="cadavers",
            source="delrossi-2008",
            where="abstract",
        )
        for number, ((low, high), flexion, lateral, layer) in enumerate(found)
    ]


one_layer = contrasts(layers=1).map(evidence_order)
many_layers = contrasts(layers=len(LAYERS)).map(evidence_order)
options = st.lists(st.sampled_from(KINDS).map(Handled), max_size=4)


def injection_exists(a: list[Handled], b: list[Handled], order: EvidenceOrder) -> bool:
    """Whether some way to give each of ``a`` one of ``b`` leaves every one no worse."""
    return any(all(map(order.no_worse, a, chosen)) for chosen in permutations(b, len(a)))


@given(one_layer)
def test_within_one_quantity_and_metric_better_is_a_strict_order(order: EvidenceOrder) -> None:
    kinds = [Handled(kind) for kind in KINDS]

    assert not any(order.is_better(a, a) for a in kinds)
    assert all(
        order.is_better(a, c)
        for a in kinds
        for b in kinds
        for c in kinds
        if order.is_better(a, b) and order.is_better(b, c)
    )


@given(one_layer, options, options)
def test_within_one_layer_dominance_equals_trying_every_injection(
    order: EvidenceOrder, a: list[Handled], b: list[Handled]
) -> None:
    assert dominates(a, b, order) == (Counter(a) != Counter(b) and injection_exists(a, b, order))


@given(many_layers, options, options)
def test_across_layers_dominance_equals_trying_every_injection_of_what_differs(
    order: EvidenceOrder, a: list[Handled], b: list[Handled]
) -> None:
    rest_a, rest_b = list((Counter(a) - Counter(b)).elements()), list((Counter(b) - Counter(a)).elements())

    assert dominates(a, b, order) == (Counter(a) != Counter(b) and injection_exists(rest_a, rest_b, order))


@given(many_layers, options)
def test_nothing_dominates_itself_in_any_order(order: EvidenceOrder, a: list[Handled]) -> None:
    assert not dominates(a, a[::-1], order)


@given(one_layer, options, options, options)
def test_within_one_layer_dominance_is_transitive(
    order: EvidenceOrder, a: list[Handled], b: list[Handled], c: list[Handled]
) -> None:
    if dominates(a, b, order) and dominates(b, c, order):
        assert dominates(a, c, order)


@given(one_layer, st.lists(st.sampled_from("abc"), min_size=1, max_size=3), st.data())
def test_what_is_built_from_better_handlings_dominates(
    order: EvidenceOrder, kinds: list[str], data: st.DataObject
) -> None:
    a = [Handled(kind) for kind in kinds]
    b = [data.draw(st.sampled_from([Handled(k) for k in KINDS if order.no_worse(one, Handled(k))])) for one in a]
    c = [data.draw(st.sampled_from([Handled(k) for k in KINDS if order.no_worse(one, Handled(k))])) for one in b]

    assert dominates(a, c, order) == (Counter(a) != Counter(c))


@given(many_layers, st.lists(options, max_size=6))
def test_dominance_goes_in_no_circle(order: EvidenceOrder, several: list[list[Handled]]) -> None:
    above = {i: [j for j, b in enumerate(several) if dominates(a, b, order)] for i, a in enumerate(several)}

    TopologicalSorter(above).prepare()


@given(many_layers, st.lists(options, max_size=8))
def test_undominated_equals_comparing_each_with_each(order: EvidenceOrder, several: list[list[Handled]]) -> None:
    expected = [i for i, b in enumerate(several) if not any(dominates(a, b, order) for a in several)]

    assert list(undominated(several, order)) == expected
    assert bool(several) == bool(expected)


@given(many_layers)
def test_edges_of_one_layer_rest_on_contrasts_of_that_layer(order: EvidenceOrder) -> None:
    assert all(len({contrast.layer for contrast in edge.contrasts}) == 1 for edge in order.edges)
    assert all("less" in dict(contrast.planes).values() for edge in order.edges for contrast in edge.contrasts)
