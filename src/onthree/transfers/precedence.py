"""Which steps of an option must wait for which, by facts alone; and for how long one person holds the head.

A step waits for an earlier one if it needs what that one sets, if it would destroy what that one still needed, or if
both set the same thing. Steps with nothing between them may be done at the same time, where there are hands.
"""

from onthree.transfers.catalogue import Option, Step

Precedence = frozenset[tuple[int, int]]
"""Pairs of places in an option: the first must be done before the second."""


def precedence(option: Option) -> Precedence:
    """Every pair of steps of an option of which the later one must wait for the earlier one; places from 0."""
    steps = option.steps
    return frozenset(
        (early, late) for late in range(len(steps)) for early in range(late) if _must_wait(steps[early], steps[late])
    )


def head_hold(option: Option) -> tuple[int, int] | None:
    """The steps (first, last) during which one person holds the head and can do nothing else; None if nobody does.

    From the step that takes the head to the last one before it is first secured to something.
    """
    for first, step in enumerate(option.steps):
        if step.technique.after.get("head") == "held":
            later = (
                place
                for place, one in enumerate(option.steps)
                if place > first and one.technique.after.get("head") not in (None, "held")
            )
            return first, next(later, len(option.steps) - 1)
    return None


def _must_wait(early: Step, late: Step) -> bool:
    needs_early, sets_early = _needs(early), set(early.technique.after)
    needs_late, sets_late = _needs(late), set(late.technique.after)
    return bool(sets_early & needs_late or needs_early & sets_late or sets_early & sets_late)


def _needs(step: Step) -> set[str]:
    """The fields of the state that a step looks at: to be open at all, and for what it asks."""
    asked = {name for need in step.technique.need for name in need.when}
    return {*step.technique.before, *step.technique.handling.depends_on, *asked}
