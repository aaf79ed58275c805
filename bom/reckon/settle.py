"""States that depend on one another, key by key, settled in an order that needs few passes."""

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from typing import TypeVar

Key = TypeVar("Key", bound=Hashable)
State = TypeVar("State")


def settle(
    ordered: tuple[Sequence[Key], bool],
    work_out: Callable[[Key, Mapping[Key, State]], State],
    start: State,
) -> dict[Key, State]:
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
    keys: Iterable[Key], needs: Callable[[Key], Iterable[Key]]
) -> tuple[list[Key], bool]:
    """The keys in an order in which each stands behind what it needs, and whether rings forbid."""
    order: dict[Key, None] = {}
    under_way: set[Key] = set()
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
