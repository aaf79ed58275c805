"""Slips of the pen in pins and names: told as the cause, and what follows from them is not told."""

import re
from collections import Counter
from collections.abc import Iterator
from functools import lru_cache

from bom.reckon.check.findings import Findings
from bom.reckon.check.passing import Slip, back_to_front, contacts_left_out, unlike_feeds
from bom.reckon.net import NOTHING_PASSES
from bom.trade.job_book import Pin, Wire
from bom.trade.point_names import is_battery, is_fuse
from bom.trade.problem import Problem, Where, caution, listed, nearest

_MOST_PINS = 100
"""No component has so many pins with names: an earth is not looked through for slips."""
_MOST_POINTS = 300
"""Among more points no slip between two of them is looked for: it would take long."""


@lru_cache(maxsize=1)  # asked by one check after the other
def slips(findings: Findings) -> tuple[Slip, ...]:
    """Every slip, in the order of the sheets."""
    if not findings.whole:
        return tuple(_names(findings))
    kinds = (_pins_not_passed, _words_of_passes, _pins_used_once, _names, _points_met_once)
    rest = (
        _loads_out_of_reach,
        _taken_for_switches,
        contacts_left_out,
        back_to_front,
        unlike_feeds,
    )
    return tuple(slip for kind in (*kinds, *rest) for slip in kind(findings))


# ------------------------------------------------------------------------------- pins


def _pins_not_passed(findings: Findings) -> Iterator[Slip]:
    """A pin that `passes` does not name: nothing passes to it or from it."""
    net = findings.net
    told = {
        Pin(point, pin) for point, found in _misspelt(findings).items() for pin in found.values()
    }
    for wire in findings.book.wires:
        for pin, _, heading in wire.ends:
            if not pin.pin or pin in told or net.passing(pin.point) != "named":
                continue
            if pin.pin in net.passes(pin.point).named:
                continue
            close = _meant(findings, pin)
            if close or _feeds_from_nothing(findings, wire, pin):
                told.add(pin)
                says = f"pin '{pin.pin}' of {pin.point} is not named in its passes: nothing passes"
                cure = f"{pin.point}:{close}" if close else f"'{pin.pin}' in its passes"
                where = wire.row.where(heading.removesuffix(" end"))
                yield Slip(pin.point, where, says, cure, "pins that passes does not name")


def _meant(findings: Findings, pin: Pin) -> str:
    """The pin named in `passes` that one used once is nearly; empty where none is.

    A phrase with a word of it in use is no pin.
    """
    net = findings.net
    passes, used = net.passes(pin.point), net.pins[pin.point]
    if _uses(findings, pin) > 1:
        return ""
    unused = [] if net.is_own(pin) else _phrases(net.component(pin.point).passes)
    close = nearest(
        pin.pin, [phrase for phrase in unused if used.keys().isdisjoint(phrase.split())]
    )
    if close and _figures(close) == _figures(pin.pin):
        return close
    known = {*passes.named, *_phrases(net.component(pin.point).passes)} - {pin.pin}
    return next((word for word in sorted(known) if is_one_slip(pin.pin, word)), "")


def _phrases(passes: str) -> list[str]:
    """What may be a pin in a `passes` cell: every run of words, the longest first."""
    found = []
    for part in re.split(r"[,>]", passes):
        words = part.split()
        runs = ((a, b) for a in range(len(words)) for b in range(a + 1, len(words) + 1))
        found += [" ".join(words[a:b]) for a, b in runs]
    return sorted(dict.fromkeys(found), key=len, reverse=True)


def _feeds_from_nothing(findings: Findings, wire: Wire, pin: Pin) -> bool:
    """True for a feed that starts at a switch's pin to which nothing comes."""
    net = findings.net
    starts = wire.start == pin and not findings.is_return(wire)
    return starts and net.component(pin.point).load is None and not net.behind(net.port(pin))


def _words_of_passes(findings: Findings) -> Iterator[Slip]:
    """A word in `passes` that no wire uses, and that is nearly a pin which several do."""
    net = findings.net
    for point, close in _misspelt(findings).items():
        row = net.component(point).row
        for word, pin in close.items():
            says = f"passes names '{word}', and the wires say {point}:{pin}"
            if row is not None:
                yield Slip(point, row.where("passes"), says, pin, "pins misspelt under passes")


def _misspelt(findings: Findings) -> dict[str, dict[str, str]]:
    """By point, the words of `passes` that are nearly a pin of several wires."""
    found: dict[str, dict[str, str]] = {}
    for point, pins in findings.net.pins.items():
        if findings.net.passing(point) != "named":
            continue
        passes = findings.net.passes(point)
        often = [n for n, pin in pins.items() if n and _uses(findings, pin) > 1]
        often = [name for name in often if name not in passes.named]
        close = {word: nearest(word, often) for word in passes.unused if often}
        found[point] = {w: p for w, p in close.items() if p and _figures(w) == _figures(p)}
    return found


def slipped_points(findings: Findings) -> frozenset[str]:
    """The points whose wires lead to nothing, or come from nothing, because of a slip."""
    return frozenset(point for slip in slips(findings) for point in slip.points)


def unused_words(findings: Findings) -> Iterator[Problem]:
    """`passes` that name a pin which no wire uses, and no slip explains."""
    net = findings.net
    explained = slipped_points(findings)
    for name, component in findings.book.components.items() if findings.whole else ():
        used = name in net.pins and net.passing(name) == "named" and not is_battery(name)
        words = net.passes(name).unused if used and name not in explained else ()
        if words and component.row is not None:
            quoted = listed(f"'{word}'" for word in dict.fromkeys(words))
            says = f"passes names {quoted}, where no wire of {name} ends"
            cure = "a wire to each, or its name left out"
            yield caution(
                component.row.where("passes"),
                says,
                cure,
                alike="components whose passes names pins without a wire",
            )


def _pins_used_once(findings: Findings) -> Iterator[Slip]:
    """A pin used once that is another of its component but for a letter: one terminal too many."""
    net = findings.net
    for point, pins in net.pins.items():
        words = [name for name in pins if len(name) > 3 and not _figures(name)]
        if not 1 < len(words) <= _MOST_PINS or is_battery(point) or net.passing(point) == "named":
            continue
        for number, name in enumerate(words):
            others = (other for other in words[:number] if is_one_slip(name, other))
            other = next(others, "")
            if other and 1 in (_uses(findings, pins[name]), _uses(findings, pins[other])):
                yield _twins(findings, pins[name], pins[other])


def _twins(findings: Findings, later: Pin, first: Pin) -> Slip:
    """Two pins that are nearly one: the slip is the one met once."""
    once, often = (later, first) if _uses(findings, later) == 1 else (first, later)
    says = f"pin '{once.pin}' of {once.point} is met once, and is nearly '{often.pin}'"
    cure = str(often)
    if _uses(findings, often) == 1:
        says = f"pins '{often.pin}' and '{once.pin}' of {once.point} are met once each"
        cure = "one of the two for both wires"
    net = findings.net
    wire = (*net.starting.get(once, ()), *net.arriving.get(once, ()))[0]
    where = wire.row.where("from" if wire.start == once else "to")
    return Slip(once.point, where, says, cure, "pins that are nearly another")


def _uses(findings: Findings, pin: Pin) -> int:
    net = findings.net
    return len(net.starting.get(pin, ())) + len(net.arriving.get(pin, ()))


def _figures(text: str) -> list[str]:
    return re.findall(r"\d+", text)


def is_one_slip(word: str, other: str) -> bool:
    """True for two names that differ by a letter of a longer word, or by two that changed places.

    Figures, the first letter and words of fewer than four letters are never a slip.

    >>> is_one_slip("ligths", "lights"), is_one_slip("signal", "signals")
    (True, True)
    >>> is_one_slip("hron", "horn"), is_one_slip("reserve", "reverse")
    (True, False)
    >>> is_one_slip("in 1", "in 2"), is_one_slip("main a", "main b"), is_one_slip("left", "right")
    (False, False, False)
    """
    apart = sorted(set(word.casefold().split()) ^ set(other.casefold().split()), key=len)
    if len(apart) != 2 or len(apart[0]) < 4 or not "".join(apart).isalpha():
        return False
    shorter, longer = apart
    if shorter[0] != longer[0]:
        return False
    if len(shorter) < len(longer):
        return any(longer[:n] + longer[n + 1 :] == shorter for n in range(len(longer)))
    differing = [
        n for n, pair in enumerate(zip(shorter, longer, strict=True)) if len(set(pair)) > 1
    ]
    swapped = sorted(shorter) == sorted(longer) and differing[-1] - differing[0] == 1
    return swapped or (len(differing) == 1 and len(longer) > 4)


# ------------------------------------------------------------------------------- names


def _names(findings: Findings) -> Iterator[Slip]:
    """A component without wires, where wires end at nearly its name."""
    book = findings.book
    met = Counter(pin.point for wire in book.wires for pin in (wire.start, wire.finish))
    strange = _strange_points(findings)
    for name, component in book.components.items():
        if name in met or component.row is None:
            continue
        point = next((point for point in strange if _is_nearly(name, point)), "")
        if not point:
            continue
        strange.remove(point)
        says, cure, where = (
            f"component '{name}' has no wires",
            point,
            component.row.where("component"),
        )
        if met[point] == 1:
            says, cure = f"point '{point}' is on no other sheet", name
            where = _first_end(findings, point)
        yield Slip(point, where, says, cure, "names that are nearly another")


def _points_met_once(findings: Findings) -> Iterator[Slip]:
    """A point on no other sheet where one wire ends, and that is nearly a known or busier one."""
    net, listed = findings.net, findings.book.components
    if len(net.pins) > _MOST_POINTS:
        return
    met = Counter(pin.point for wire in findings.book.wires for pin in (wire.start, wire.finish))
    known = [point for point in net.pins if met[point] > 1 or point in listed]
    for point in _strange_points(findings):
        close = (other for other in known if _is_misspelt(point, other))
        if met[point] == 1 and (other := next(close, "")):
            says = f"point '{point}' is met once, and is nearly '{other}'"
            (pin,) = net.pins[point]
            where, alike = _first_end(findings, point), "names that are nearly another"
            yield Slip(point, where, says, str(Pin(other, pin)), alike, meant=other)


def _is_misspelt(point: str, other: str) -> bool:
    """True for two names that differ by one slip, by blanks, or by a letter typed twice.

    >>> _is_misspelt("kil switch", "kill switch"), _is_misspelt("coil 11", "coil 1")
    (True, False)
    """
    plain = (re.sub(r"[ -]|([a-z])(?=\1)", "", name.casefold()) for name in (point, other))
    return len({*plain}) == 1 or is_one_slip(point, other)


def _strange_points(findings: Findings) -> list[str]:
    """The points of wires that neither Components nor Loom knows."""
    book = findings.book
    loom = {point for branch in book.branches for point in (branch.start, branch.finish)}
    return [
        point for point in findings.net.pins if point not in book.components and point not in loom
    ]


def _is_nearly(name: str, other: str) -> bool:
    """True for two names that differ by the spelling of one word, or by a blank."""
    words, others = name.casefold().split(), other.casefold().split()
    if "".join(words) == "".join(others):
        return True
    ours, theirs = set(words) - set(others), set(others) - set(words)
    return len(ours) == len(theirs) == 1 and bool(nearest(ours.pop(), theirs))


def _first_end(findings: Findings, point: str) -> Where:
    ends = ((w, h) for w in findings.book.wires for pin, _, h in w.ends if pin.point == point)
    wire, heading = next(ends)
    return wire.row.where(heading.removesuffix(" end"))


def unused_components(findings: Findings) -> Iterator[Problem]:
    """Components that no wire ends at, by no slip of the pen."""
    told = {said for slip in _names(findings) for said in (slip.cure, slip.where)}
    for name, component in findings.book.components.items() if findings.whole else ():
        where = component.row.where("component") if component.row else None
        if where is None or name in findings.net.pins or name in told or where in told:
            continue
        cure = nearest(name, _strange_points(findings)) or "a wire to it, or no row for it"
        says = f"component '{name}' has no wires"
        yield caution(where, says, cure, alike="components without wires")


def _loads_out_of_reach(findings: Findings) -> Iterator[Slip]:
    """A component's own load that no wire comes to: `passes` names every pin it has."""
    net = findings.net
    for name, component in findings.book.components.items():
        if component.load is None or component.row is None or net.passing(name) != "named":
            continue
        pins = net.pins.get(name, {}).values()
        if pins and not any(net.is_own(pin) for pin in pins):
            says = f"the load of {name} is in no current: passes names all the pins that wires use"
            cure = "its load typed on the row that feeds it"
            yield Slip(name, component.row.where("load"), says, cure, "loads that no wire comes to")


def _taken_for_switches(findings: Findings) -> Iterator[Slip]:
    """A regulator that nobody said to pass nothing, with a wire to the battery."""
    net = findings.net
    for wire in findings.book.wires:
        start, finish = wire.start, wire.finish
        if (
            finish.point not in net.batteries
            or not findings.is_return(wire)
            or is_fuse(start.point)
        ):
            continue
        earthed = net.is_earth_pin(start) or net.is_earth_pin(finish)
        charges = findings.catalogue.kind_of(start.point) == "charging"
        if charges and not earthed and net.passing(start.point) != NOTHING_PASSES:
            says = (
                f"wire {wire.label} comes to the battery from {start.point}, "
                "which is taken for a switch"
            )
            cure = f"'none' under passes for {start.point}, and here what it gives, in A"
            where, alike = wire.row.where("load"), "chargers that are taken for switches"
            yield Slip(start.point, where, says, cure, alike)
