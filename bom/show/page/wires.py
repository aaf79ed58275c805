"""A job's wires, branches and points as its page tells them: the figures of the bench's papers."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence

from bom.show.job_json import check_out
from bom.show.page.ids import PageIds
from bom.show.paper import Shown, in_colour
from bom.show.paper.bench import laid_over, runs_in
from bom.show.paper.ends import Fitted
from bom.trade.catalogue_rows import ColourRow
from bom.trade.job_book import Colour, Pin
from bom.trade.wires import SizedWire


def shown_wires(ids: PageIds, fitted: Fitted) -> list[Shown]:
    """Each wire with its way, both ends, and what it is found by."""
    job = ids.job
    figures, holders = check_out(job)["wires"], fitted.holders(job)
    words = {row.word: _colour_words(row) for row in job.workshop.catalogue.colours}
    return [
        {
            **_wire(ids, wire, fitted),
            **_carries(wire, own),
            "holder": holders.get(wire.wire.label),
            "find": _words(_found_by(ids, wire, words)),
        }
        for wire, own in zip(job.wires, figures, strict=True)
    ]


def _wire(ids: PageIds, wire: SizedWire, fitted: Fitted) -> Shown:
    asked, label = wire.wire, wire.wire.label
    sides = (
        ("from", "from end", asked.start, wire.start_end),
        ("to", "to end", asked.finish, wire.finish_end),
    )
    way = [
        {"id": ids.branch(each), "name": f"{each.start} to {each.finish}"} for each in ids.way(wire)
    ]
    ends = [
        {
            **fitted.shown(label, heading, pin, style),
            **dict(zip(("cover", "terminal"), fitted.put_on(label, heading), strict=True)),
            "side": side,
            "id": ids.points[ids.sits_at(pin)],
            "point": ids.sits_at(pin),
        }
        for side, heading, pin, style in sides
    ]
    return {
        "id": ids.wires[label],
        "wire": label,
        "qty": asked.qty,
        "circuit": asked.circuit,
        "gauge": wire.cable.gauge,
        **in_colour(ids.job, asked.colour),
        "length": f"{wire.piece_mm} mm",
        "way": way,
        "ends": ends,
        "note": asked.note,
        "marks": " ".join([*(each["id"] for each in way), *(end["id"] for end in ends)]),
    }


def _carries(wire: SizedWire, figures: Shown) -> Shown:
    """Amps, what the cable is rated for, and its fuse, as `bom check` has them."""
    fuse, name = figures["fuse"], wire.loaded.fuse
    return {
        "amps": f"{figures['amps']:.2f} A",
        "rated": f"{figures['rated_amps']:g} A",
        "fuse": None if fuse is None else ", ".join(filter(None, (name, f"{fuse:g} A"))),
    }


def _words(found: Iterable[str]) -> str:
    """Each word once, in small letters as a browser makes them."""
    return " ".join(dict.fromkeys(" ".join(found).lower().split()))


def _found_by(ids: PageIds, wire: SizedWire, words: Mapping[str, Sequence[str]]) -> Iterator[str]:
    asked = wire.wire
    gauge, fuse = wire.cable.gauge, wire.fuse_amps
    yield from (asked.label, asked.circuit, gauge, gauge.replace(" ", ""), wire.loaded.fuse or "")
    yield from () if fuse is None else ("fuse", f"{float(fuse):g} A", f"{float(fuse):g}A")
    for pin in (asked.start, asked.finish):
        yield from (pin.point, pin.pin, ids.sits_at(pin))
    yield from _colour_found_by(asked.colour, words)


def _colour_found_by(colour: Colour | None, words: Mapping[str, Sequence[str]]) -> Iterator[str]:
    """Its words and codes, each by itself and as they are written together: `blue/red`, `U/R`."""
    if colour is None:
        return
    bodies, traces = words.get(colour.body, ()), words.get(colour.trace, ())
    yield from (str(colour), *bodies, *traces)
    yield from (f"{body}/{trace}" for body, trace in zip(bodies, traces, strict=False))


def _colour_words(row: ColourRow) -> Sequence[str]:
    return row.word, row.iec60757, row.bs_au_7, *row.also


def shown_branches(ids: PageIds) -> list[Shown]:
    """What runs in each branch; of very many wires by gauge and colour."""
    over = laid_over(ids.job)
    return [
        {
            **runs_in(ids.job, bundle, over),
            "id": ids.branch(bundle.branch),
            "ends": [
                {"id": ids.points[name], "name": name}
                for name in (bundle.branch.start, bundle.branch.finish)
            ],
        }
        for bundle in ids.bundles
    ]


def shown_points(ids: PageIds, ways: Iterable[Shown]) -> list[Shown]:
    """What sits at each point, with its pins, the wires at them, and the ways of its loads."""
    at: dict[str, dict[Pin, list[str]]] = defaultdict(lambda: defaultdict(list))
    for wire in ids.job.wires:
        for pin in (wire.wire.start, wire.wire.finish):
            at[pin.point][pin].append(wire.wire.label)
    loads: dict[str, list[Shown]] = defaultdict(list)
    for way in ways:
        loads[way["of"]].append(way)
    here: dict[str, list[str]] = defaultdict(list)
    for name in dict.fromkeys((*ids.sits, *at)):
        here[ids.sits.get(name, name)].append(name)
    return [
        {
            "id": own,
            "name": name,
            "things": [
                {
                    "name": thing,
                    "tail": ids.tail_mm(thing),
                    "pins": [
                        {"pin": pin.pin, "wires": list(wires)} for pin, wires in at[thing].items()
                    ],
                    "ways": loads[thing],
                }
                for thing in here[name]
            ],
        }
        for name, own in ids.points.items()
    ]
