"""States that depend on one another, port by port, settled in an order that needs few passes."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import TypeVar

from bom.trade.job_book import Pin

State = TypeVar("State")


def settle(
    ordered: tuple[Sequence[Pin], bool],
    work_out: Callable[[Pin, Mapping[Pin, State]], State],
    start: State,
) -> dict[Pin, State]:
    """The least states in which every key agrees with those it needs.

    `ordered` are the keys behind what they need, so that without rings one pass is enough;
    with rings passes go on until nothing changes.
    """
    order, ringed = ordered
    states = dict.fromkeys(order, start)
    changed = True
    while changed:
        changed = False
        for key in order:
            state = work_out(key, states)
            if state != states[key]:
                states[key] = state
                changed = ringed
    return states


def after_needs(
    keys: Iterable[Pin], needs: Callable[[Pin], Iterable[Pin]]
) -> tuple[list[Pin], bool]:
    """The keys in an order in which each stands behind what it needs, and whether rings forbid."""
    order: dict[Pin, None] = {}
    under_way: set[Pin] = set()
    ringed = False
    for key in keys:
        stack = [key]
        while stack:
            current = stack[-1]
            if current in order or current in under_way:  # what it needs stands before it now
                order[stack.pop()] = None
                under_way.discard(current)
                continue
            under_way.add(current)
            for following in needs(current):
                if following in under_way:
                    ringed = True
                elif following not in order:
                    stack.append(following)
    return list(order), ringed
