"""Fuses with their spares, holders and boxes, and the joints of those that lie in a wire."""

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from decimal import Decimal
from fractions import Fraction

from bom.files.spelling import fold
from bom.reckon.takeoff.work import Work, at_a_fuse
from bom.trade.catalogue_rows import EndStyle
from bom.trade.job_book import Pin, Wire
from bom.trade.larger_ends import larger_end
from bom.trade.needs import Need, Trace
from bom.trade.problem import caution
from bom.trade.wires import ChosenFuse, Joint, WireEnd, terminals


def in_line(work: Work) -> Iterator[Joint]:
    """The two joints of each fuse holder that lies in a wire: the first with its name."""
    style = work.catalogue.ends[work.rules.in_line_end]
    named: dict[str, list[Wire]] = defaultdict(list)
    for wire in work.book.wires:
        named[wire.fuse or ""].append(wire)
    for fuse in work.sized.fuses:
        wires = named[fuse.name]
        points = (pin.point for wire in wires for pin in (wire.start, wire.finish))
        if not wires or any(map(at_a_fuse, points)):
            continue
        if work.catalogue.is_in_line(fuse.holder):
            yield from _holder_joints(work, fuse, WireEnd(wires[0], "fuse"), style)


def _holder_joints(work: Work, fuse: ChosenFuse, end: WireEnd, style: EndStyle) -> Sequence[Joint]:
    pins = (Pin(f"fuse {fuse.name}, {side}") for side in ("in", "out"))
    joints = [joint for pin in pins for joint in terminals(pin, style, (end,))]
    area = joints[0].area_mm2(work.areas)
    if not style.max_mm2 or area <= style.max_mm2:
        return joints
    if fuse.rating < fuse.load_amps:
        return ()  # told: another fuse or none, and another holder with it
    says = (
        f"{float(area):g} mm2 at the holder of fuse {fuse.name}: '{style.end}' takes "
        f"{float(style.max_mm2):g} mm2 at most; its two ends are not counted"
    )
    where = end.wire.row.where(end.heading)
    larger = larger_end(work.catalogue.ends.values(), style, joints[0].pin, area, Fraction(0))
    cure = f"{larger or 'a larger style'} for in_line_end"
    alike = "fuse holders whose wires are too thick for in_line_end"
    work.problems.append(caution(where, says, cure, alike=alike))
    return ()


def fuses(work: Work) -> Iterator[Need]:
    """One fuse a name, and the spares of each rating used."""
    groups: dict[tuple[str, Fraction], list[ChosenFuse]] = defaultdict(list)
    for fuse in work.sized.fuses:
        groups[fuse.kind, fuse.rating].append(fuse)
    behind = defaultdict(list)
    for wire in work.sized.wires:
        behind[wire.loaded.fuse].append(wire.wire.label)
    for (kind, rating), fuses in sorted(groups.items()):
        typed = [fuse.spares for fuse in fuses if fuse.spares is not None]
        spares = max(typed) if typed else work.rules.fuse_spares
        names = ", ".join(f"{f.name} ({float(f.load_amps):g} A)" for f in fuses)
        yield Need(
            kind="fuse",
            item=_fuse_item(work, kind, rating),
            quantity=Decimal(len(fuses) + spares),
            counted=Decimal(len(fuses)),
            unit="each",
            wires=tuple(label for fuse in fuses for label in behind[fuse.name]),
            trace=Trace(
                "one fuse a name, and fuse_spares of each rating",
                (f"{len(fuses)} for {names}", f"spares {spares}"),
            ),
        )


def _fuse_item(work: Work, kind: str, rating: Fraction) -> str:
    known = (f.item for f in work.catalogue.fuses if (f.kind, f.amps) == (kind, rating))
    return next(known, f"{kind} fuse, {float(rating):g} A")


def holders(work: Work) -> Iterator[Need]:
    """In-line holders one each; fuses with the same holder word share boxes."""
    groups: dict[str, list[ChosenFuse]] = defaultdict(list)
    for fuse in work.sized.fuses:
        groups[fuse.holder].append(fuse)
    count: Counter[str] = Counter()
    said: dict[str, list[str]] = defaultdict(list)
    for word, fuses in groups.items():
        holder = work.catalogue.holder(word)
        if holder is None:
            continue
        ways = max(len(fuses), _box_ways(work, word))
        chosen = work.catalogue.holder_set(holder.holder, holder.kind, ways)
        for box in chosen:
            count[box.item] += 1
        said[chosen[0].item].append(f"{word}: {', '.join(fuse.name for fuse in fuses)}")
    for item in sorted(count):
        trace = Trace(
            "in-line: one each; else the smallest set with enough ways", tuple(said[item])
        )
        yield Need(
            kind="fuse_holder",
            item=item,
            quantity=Decimal(count[item]),
            unit="each",
            wires=(),
            trace=trace,
        )


def _box_ways(work: Work, word: str) -> int:
    """Ways typed for the fuse box of a holder word: of that name, else with it in its name."""
    ways = {fold(name): part.ways or 0 for name, part in work.book.components.items()}
    return ways.get(word) or max((n for name, n in ways.items() if word in name), default=0)
