"""Minimal sets of causes: the smallest fixes of an athlete and the smallest reasons that block every option."""

from collections.abc import Iterable

Bits = int
"""A set of causes as bits of a whole number."""


def inclusion_minimal(sets: Iterable[Bits]) -> tuple[Bits, ...]:
    """The sets that hold no other of the sets, smallest first."""
    kept: list[Bits] = []
    for bits in sorted(set(sets), key=lambda bits: (bits.bit_count(), bits)):
        if not any(smaller & bits == smaller for smaller in kept):
            kept.append(bits)
    return tuple(kept)


def minimal_transversals(sets: Iterable[Bits]) -> tuple[Bits, ...]:
    """The inclusion-minimal sets that share a member with each of the sets, smallest first.

    No sets at all are met by the empty set; an empty set among them can be met by none. Built set by set
    (C. Berge, Hypergraphs, 1989, chapter 2).
    """
    transversals: tuple[Bits, ...] = (0,)
    for bits in inclusion_minimal(sets):
        transversals = inclusion_minimal(
            wider for narrow in transversals for wider in ((narrow,) if narrow & bits else _widened(narrow, bits))
        )
    return transversals


def _widened(narrow: Bits, bits: Bits) -> Iterable[Bits]:
    while bits:
        lowest = bits & -bits
        yield narrow | lowest
        bits ^= lowest
