"""What each command prints: tables for people, with units, the total and a next step."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from bom.files.headings import TakenFor
from bom.files.spelling import plain
from bom.files.table import Heading, Table
from bom.trade.needs import ELSEWHERE, LABOUR, Kind, Need, Takeoff
from bom.trade.orders import Order, Purchase
from bom.trade.quotes import Quote
from bom.trade.wires import SizedWire

if TYPE_CHECKING:
    from bom.estimate import Bought
    from bom.job import Job

BENCH_CAUTIONS = (
    "Disconnect the battery first, earth side first, and put it on last.",
    "No heat gun, flame or soldering iron near petrol: tank off, doors open.",
    "A battery on charge gives off hydrogen: no sparks, no flame, and let air in.",
    "Pull on every crimp; make again the one that moves.",
    "No solder where it shakes: the strands break beside it.",
    "A fuse sits at the battery, before anything else on its feed.",
    "Test continuity and shorts to earth of every wire before first power.",
    "First power goes through a small fuse or a lamp in series.",
    "Measure the charging voltage after the first start, in the open air.",
    "Check lights, horn, brake lamp and kill switch; road test before handing over.",
    "Local rules come first; where the law asks for a licensed practitioner, use one.",
)
QUOTE_CAUTIONS = (
    "An estimate: what is found when the old loom comes out may change it.",
    "Lights and brake lamp are tested before the machine goes back on the road; local rules "
    "apply, and work that the law keeps for licensed practitioners is theirs.",
)
NEAR = Decimal("0.02")
"""Another choice of suppliers is told of when it costs less than this share more."""
KIND_WORDS: dict[Kind, str] = {"fuse_holder": "fuse holder"}


# --------------------------------------------------------------------------------- check


def check_tables(job: "Job") -> tuple[Table, ...]:
    """Every wire as sized: what it carries, what protects it, what it drops."""
    wires = job.sized.wires if job.sized else ()
    volts = float(job.rules.volts)
    duties = [_runs(job, wire) for wire in wires]
    told = any(duties)
    return (
        Table(
            title=f"{job.name}: {len(wires)} wires",
            headings=(
                Heading(name="wire"),
                Heading(name="circuit", wide=24),
                Heading(name="from", wide=22),
                Heading(name="to", wide=22),
                Heading(name="colour"),
                Heading(name="gauge"),
                Heading(name="load", form="amps"),
                Heading(name="rated", form="amps"),
                Heading(name="fuse", form="amps"),
                Heading(name="length", form="mm"),
                Heading(name="drop", form="volts"),
                Heading(name="drop", form="percent"),
                *([Heading(name="runs")] if told else []),
            ),
            rows=tuple(
                (*_check_row(wire, volts), *([duty] if told else []))
                for wire, duty in zip(wires, duties, strict=True)
            ),
            notes=_check_notes(job),
        ),
    )


def columns_table(taken: Sequence[TakenFor]) -> Table:
    """What each heading of a job book is taken for."""
    return Table(
        title="Columns",
        headings=(
            Heading(name="sheet"),
            Heading(name="cell"),
            Heading(name="heading", wide=30),
            Heading(name="taken for"),
            Heading(name="in"),
            Heading(name="known by"),
        ),
        rows=tuple(
            (t.where.sheet, t.where.cell, t.heading, t.column or "-", t.unit, t.how) for t in taken
        ),
        notes=('your own words: [columns] in workshop.toml, such as "Leitung" = "wire"',),
    )


def _runs(job: "Job", entry: SizedWire) -> str:
    """How long all loads of a wire are on, where they agree and it is not always."""
    known = job.currents.runs if job.currents else {}
    ways = {known.get(load, "") for load in entry.loaded.loads}
    only = ways.pop() if len(ways) == 1 else ""
    return "" if only == "always" else only


def _check_notes(job: "Job") -> tuple[str, ...]:
    """What gauges were raised for, the warmest branch, and the charging balance."""
    notes = []
    for why in ("heat of a branch", "the voltage lost on a way", "one line less to order"):
        wires = [w for w in (job.sized.wires if job.sized else ()) if w.decided == why]
        if wires:
            said = ", ".join(f"{w.wire.label} ({w.cable.gauge})" for w in wires)
            notes.append(f"thicker for {why}: {said}")
    notes += _warmest(job)
    if job.balance and (job.rules.alternator_idle_w or job.rules.alternator_road_w):
        continuous, likely = job.balance
        gives = [
            f"{plain(watts)} W {when}"
            for watts, when in (
                (job.rules.alternator_idle_w, "at idle"),
                (job.rules.alternator_road_w, "at road speed"),
            )
            if watts
        ]
        notes.append(
            f"charging: loads take {continuous:.0f} W continuous and {likely:.0f} W likely; the "
            f"alternator gives {', '.join(gives)}"
        )
    return tuple(notes)


def _warmest(job: "Job") -> list[str]:
    """The branch that gets warmest, where one does."""
    heats = job.sized.heats if job.sized else {}
    warm = [index for index, heat in heats.items() if heat.rise_k]
    if not warm or job.book is None:
        return []
    index = max(warm, key=lambda index: (heats[index].hottest_c, -index))
    heat = heats[index]
    return [
        f"warmest branch: {job.book.branches[index]}, {heat.hottest_c:.0f} C of "
        f"{heat.most_c:.0f} C (all on, with the margin)"
    ]


def _check_row(entry: SizedWire, volts: float) -> tuple[str | float | int | None, ...]:
    wire = entry.wire
    return (
        wire.label,
        wire.circuit,
        str(wire.start),
        str(wire.finish),
        str(wire.colour or ""),
        entry.cable.gauge,
        float(entry.loaded.amps),
        float(entry.cable.rated_amps),
        None if entry.fuse_amps is None else float(entry.fuse_amps),
        entry.piece_mm,
        entry.drop_volts,
        100 * entry.drop_volts / volts,
    )


# ------------------------------------------------------------------------------ take-off


def takeoff_tables(job: "Job") -> tuple[Table, ...]:
    """Cable by gauge and colour, then everything that is counted or measured."""
    takeoff = job.takeoff or Takeoff((), (), {})
    cables = [need for need in takeoff.needs if need.kind == "cable"]
    others = [need for need in takeoff.needs if need.kind != "cable"]
    return (_cable_table(job, cables), _parts_table(job, others))


def takeoff_listing(job: "Job") -> Table:
    """The whole bill of materials in one table, for a spreadsheet."""
    takeoff = job.takeoff or Takeoff((), (), {})
    return Table(
        title=f"take-off {job.name}",
        headings=tuple(
            Heading(name=name, form="quantity" if name == "quantity" else "text")
            for name in ("kind", "item", "gauge", "colour", "quantity", "unit", "for")
        ),
        rows=tuple(
            (
                need.kind,
                need.item,
                need.gauge,
                str(need.colour or ""),
                need.quantity,
                need.unit,
                " ".join(need.wires),
            )
            for need in takeoff.needs
        ),
    )


def _cable_table(job: "Job", needs: Sequence[Need]) -> Table:
    return Table(
        title=f"{job.name}: cable",
        headings=(
            Heading(name="gauge"),
            Heading(name="colour"),
            Heading(name="pieces", form="count", total=True),
            Heading(name="longest", form="mm"),
            Heading(name="spare", form="mm"),
            Heading(name="needed", form="m", total=True),
            Heading(name="for wires", wide=44),
        ),
        rows=tuple(
            (
                need.gauge,
                str(need.colour or ""),
                len(need.pieces),
                max(length for length, _ in need.pieces),
                need.spare_mm,
                need.quantity / 1000,
                " ".join(need.wires),
            )
            for need in needs
        ),
    )


def _parts_table(job: "Job", needs: Sequence[Need]) -> Table:
    return Table(
        title=f"{job.name}: everything else",
        headings=(
            Heading(name="kind"),
            Heading(name="item", wide=60),
            Heading(name="needed", form="quantity"),
            Heading(name="unit"),
            Heading(name="wires", form="count"),
        ),
        rows=tuple(
            (
                KIND_WORDS.get(need.kind, need.kind),
                need.item,
                *in_metres(need.quantity, need.unit),
                len(need.wires) or None,
            )
            for need in needs
        ),
        notes=("allowances for waste and spares are in these figures: 'bom why' shows each",),
    )


def in_metres(quantity: Decimal, unit: str, already: bool = False) -> tuple[Decimal, str]:
    """Lengths in metres to the next centimetre up, for people; all else as it is."""
    if already and unit == "m":
        return round(quantity, 2), unit
    if unit != "mm":
        return quantity, unit
    return (quantity / 1000).quantize(Decimal("0.01"), "ROUND_CEILING"), "m"


# ------------------------------------------------------------------------------ cut list


def cut_tables(bought: "Bought") -> tuple[Table, ...]:
    """The cut list, and what is left of each opened piece."""
    wires = bought.wires
    names = ", ".join(job.name for job in bought.jobs)
    several = len(bought.jobs) > 1
    rows: list[tuple[str | int, ...]] = []
    for cut in bought.cuts:
        wire = wires[cut.job, cut.wire]
        rows.append(
            (
                cut.gauge,
                str(cut.colour),
                cut.piece,
                cut.length_mm,
                *([cut.job] if several else []),
                cut.wire,
                str(wire.wire.start),
                wire.start_end,
                str(wire.wire.finish),
                wire.finish_end,
                wire.wire.circuit,
            )
        )
    listing = Table(
        title=f"{names}: cut list",
        headings=(
            Heading(name="gauge"),
            Heading(name="colour"),
            Heading(name="cut from"),
            Heading(name="length", form="mm", total=True),
            *([Heading(name="job")] if several else []),
            Heading(name="wire"),
            Heading(name="from", wide=24),
            Heading(name="from end"),
            Heading(name="to", wide=24),
            Heading(name="to end"),
            Heading(name="circuit", wide=24),
        ),
        rows=tuple(rows),
        notes=(
            "Covers go on before terminals; crimp twice: conductor, then insulation.",
            *BENCH_CAUTIONS,
        ),
    )
    return (listing, _offcut_table(bought))


def _offcut_table(bought: "Bought") -> Table:
    useful = bought.jobs[0].rules.useful_offcut_mm if bought.jobs else 0
    return Table(
        title="left over",
        headings=(
            Heading(name="piece"),
            Heading(name="gauge"),
            Heading(name="colour"),
            Heading(name="left", form="mm"),
            Heading(name="then"),
        ),
        rows=tuple(
            (
                offcut.piece,
                offcut.gauge,
                str(offcut.colour),
                offcut.length_mm,
                "back on the shelf" if offcut.length_mm >= useful else "scrap",
            )
            for offcut in bought.cut_list.offcuts
            if offcut.length_mm
        ),
        notes=(f"useful from {useful} mm up (house rule useful_offcut_mm)",),
    )


# --------------------------------------------------------------------------------- order


def order_tables(bought: "Bought") -> tuple[Table, ...]:
    """The shopping list by supplier, the cable again by colour, and what nobody sells."""
    tables = [_order_table(bought), _colour_table(bought.order)]
    if bought.order.unpriced:
        tables.append(_unpriced_table(bought.order))
    if bought.substitutes:
        tables.append(_substitute_table(bought))
    return tuple(table for table in tables if table.rows or table is tables[0])


def _order_table(bought: "Bought") -> Table:
    order = bought.order
    footer = [(f"postage, {name}", cost, "") for name, cost in order.postage.items()]
    sums = "+".join(f"{{{name}}}" for name in ("cost", *(label for label, _, _ in footer)))
    open_items = len(order.unpriced)
    lacking = f", {open_items} {'item' if open_items == 1 else 'items'} not priced"
    total = ("total without tax" + lacking * bool(open_items), order.total, sums)
    several = len({job for line in order.lines for job in line.jobs}) > 1
    for_jobs = [Heading(name="for", wide=28)] if several else []
    return Table(
        title="shopping list",
        headings=(
            Heading(name="supplier"),
            Heading(name="item", wide=44),
            Heading(name="part no"),
            Heading(name="sold as"),
            Heading(name="pack", form="quantity"),
            Heading(name="packs", form="count"),
            Heading(name="price", form="money"),
            Heading(name="cost", form="money", total=True, formula="ROUND({packs}*{price},2)"),
            *for_jobs,
        ),
        rows=tuple(
            (
                line.supplier,
                line.item,
                line.part_no,
                line.sold_as,
                line.pack,
                line.packs,
                line.price,
                line.cost,
                *([", ".join(line.jobs)] if for_jobs else []),
            )
            for line in order.lines
        ),
        footer=(*footer, total),
        notes=_order_notes(order),
    )


def _order_notes(order: Order) -> tuple[str, ...]:
    """How good the order is known to be, what it is better than, and what was bought over."""
    if not order.lines:
        none = "nothing to order: the shelf has it all"
        return (none,) if not order.unpriced else ()
    notes = [_how_good(order)]
    notes += [f"left-over cable is credited with {order.credit:.2f}"] if order.credit else []
    notes += _compared(order)
    notes += [
        f"{line.item}: {line.more} x {line.sold_as} more than needed"
        + (", as fewer would make the whole order dearer" if order.proved else "")
        for line in order.lines
        if line.more
    ]
    return tuple(notes)


def _how_good(order: Order) -> str:
    gap = order.total - order.bound
    least = "no other choice of reels, metres, packs and suppliers is cheaper"
    if order.proved:
        return f"proved: {least}"
    if not gap:
        return f"proved for all that is on a price list: {least}"
    percent = 100 * gap / order.total
    return (
        f"not proved to be the cheapest: within {gap:.2f} ({percent:.1f} %) of the least possible"
    )


def _compared(order: Order) -> list[str]:
    """What it would cost at each supplier alone, and from the next choice where that is near."""
    lines = len({line.key for line in order.lines if line.supplier != ELSEWHERE})
    used = {line.supplier for line in order.lines}
    alone = []
    for rival in order.alone:
        (name,) = rival.suppliers or ("",)
        if rival.total is None:
            alone.append(f"{name} sells {rival.sells} of the {lines} lines")
        elif used != {name}:
            alone.append(f"{name} {rival.total:.2f}, {rival.total - order.total:.2f} more")
    notes = [f"from one supplier alone: {'; '.join(alone)}"] if alone else []
    other = order.next_best
    if other and other.total is not None and other.total - order.total < NEAR * order.total:
        more = other.total - order.total
        names = " and ".join(other.suppliers)
        share = f"{more:.2f}, {100 * more / order.total:.1f} % more"
        notes.append(f"next cheapest choice of suppliers: {names}, {other.total:.2f} ({share})")
    return notes


def _colour_table(order: Order) -> Table:
    """Metres of cable to buy: gauges down, colours across, as one walks along the rack."""
    cables = [line for line in order.lines if line.kind == "cable"]
    if not cables:
        return Table(title="cable by colour", headings=(Heading(name="colour"),), rows=())
    metres = _metres_by_colour(cables)
    gauges = list(dict.fromkeys(line.gauge for line in sorted(cables, key=_gauge_order)))
    return Table(
        title="cable by colour, metres",
        headings=(
            Heading(name="colour"),
            *(Heading(name=gauge, form="quantity", total=True) for gauge in gauges),
        ),
        rows=tuple(
            (colour, *(by_gauge.get(gauge) for gauge in gauges))
            for colour, by_gauge in metres.items()
        ),
    )


def _gauge_order(line: Purchase) -> tuple[bool, Fraction]:
    size = line.gauge.removesuffix(" AWG")
    awg = size != line.gauge
    return (awg, -Fraction(size) if awg else Fraction(size))


def _metres_by_colour(lines: Iterable[Purchase]) -> dict[str, dict[str, Decimal]]:
    import pandas as pd

    frame = pd.DataFrame(
        {
            "colour": str(line.colour or ""),
            "gauge": line.gauge,
            "metres": float(line.bought / 1000),
        }
        for line in lines
    )
    pivot = frame.pivot_table(index="colour", columns="gauge", values="metres", aggfunc="sum")
    return {
        str(colour): {
            str(gauge): Decimal(plain(Decimal(str(metres))))
            for gauge, metres in row.items()
            if metres == metres
        }
        for colour, row in pivot.sort_index().iterrows()
    }


def _substitute_table(bought: "Bought") -> Table:
    return Table(
        title="on the shelf, and would do instead",
        headings=(
            Heading(name="to be bought", wide=44),
            Heading(name="on the shelf"),
            Heading(name="pieces", wide=30),
            Heading(name="saves", form="money"),
        ),
        rows=tuple(
            (each.item, each.instead, ", ".join(each.pieces), each.saves)
            for each in bought.substitutes
        ),
        notes=(
            "Nothing is swapped by itself: a cable without its trace must not lie beside "
            "another circuit of the same colour. Type the gauge or colour in the job book.",
        ),
    )


def _unpriced_table(order: Order) -> Table:
    return Table(
        title="on no price list",
        headings=(
            Heading(name="item", wide=60),
            Heading(name="short", form="quantity"),
            Heading(name="unit"),
            Heading(name="for"),
        ),
        rows=tuple(
            (missing.item, *in_metres(missing.quantity, missing.unit), ", ".join(missing.jobs))
            for missing in order.unpriced
        ),
    )


# --------------------------------------------------------------------------------- quote


def quote_tables(quote: Quote, tax_percent: Decimal) -> tuple[Table, ...]:
    """The estimate for the workshop's own eyes: cost and price of every line."""
    return (
        Table(
            title="estimate",
            headings=(
                Heading(name="group"),
                Heading(name="item", wide=48),
                Heading(name="quantity", form="quantity"),
                Heading(name="unit"),
                Heading(name="cost", form="money"),
                Heading(name="price", form="money"),
            ),
            rows=tuple(
                (
                    line.group,
                    line.item,
                    *in_metres(line.quantity, line.unit, line.group == LABOUR),
                    line.cost,
                    line.price,
                )
                for line in quote.lines
            ),
            footer=_totals(quote, tax_percent),
            notes=_range_note(quote) + _quote_notes(quote) + QUOTE_CAUTIONS,
        ),
    )


def _totals(quote: Quote, tax_percent: Decimal) -> tuple[tuple[str, Decimal, str], ...]:
    """Sums under the estimate; in .xlsx they follow a changed price."""
    labour = f'SUMIF({{group}},"{LABOUR}",{{price}})'
    return (
        ("materials", quote.materials, f"SUM({{price}})-{labour}"),
        ("labour", quote.labour, labour),
        *_taxed(quote, tax_percent, "SUM({price})"),
    )


def _taxed(quote: Quote, tax_percent: Decimal, net: str) -> tuple[tuple[str, Decimal, str], ...]:
    percent = plain(tax_percent)
    tax = f"tax {percent} %"
    return (
        ("net", quote.net, net),
        (tax, quote.tax, f"ROUND({{net}}*{percent}/100,2)"),
        ("TOTAL", quote.total, f"{{net}}+{{{tax}}}"),
    )


def _range_note(quote: Quote) -> tuple[str, ...]:
    """How far the total may be off, where doubts are marked and move it."""
    found = quote.range
    if found is None or found.low == found.high:
        return ()
    return (f"likely between {found.low:.2f} and {found.high:.2f}",)


def _quote_notes(quote: Quote) -> tuple[str, ...]:
    if quote.complete:
        return ()
    return (f"INCOMPLETE: without a price are {'; '.join(quote.unpriced)}",)


def customer_tables(job: "Job", quote: Quote) -> tuple[Table, ...]:
    """The sheet the customer sees: groups and totals, no cost, no markup, no supplier."""
    groups: dict[str, Decimal] = defaultdict(Decimal)
    for line in quote.lines:
        groups[line.group] += line.price
    book = job.book
    who = " for ".join(filter(None, (book.machine, book.customer))) if book else ""
    return (
        Table(
            title=f"Estimate: {job.name}" + (f", {who}" if who else ""),
            headings=(
                Heading(name="what", wide=48),
                Heading(name="price", form="money"),
            ),
            rows=tuple(groups.items()),
            footer=_taxed(quote, job.rules.tax_percent, "SUM({price})"),
            notes=_range_note(quote)
            + (
                ()
                if quote.complete
                else ("This estimate is incomplete: some parts have no price yet.",)
            )
            + QUOTE_CAUTIONS,
        ),
    )


# ---------------------------------------------------------------------------------- pack


def pack_tables(bought: "Bought", files: Iterable[Path]) -> tuple[Table, ...]:
    """The files that were written, and whom each is for."""
    return (
        Table(
            title=f"{bought.jobs[0].name}: on paper",
            headings=(Heading(name="file", wide=60), Heading(name="for")),
            rows=tuple((str(path), _whom_for(path.name)) for path in files),
        ),
    )


def _whom_for(name: str) -> str:
    known = {"quotation.pdf": "the customer", "bench.pdf": "the bench", "labels.pdf": "the loom"}
    known["loom.pdf"] = "the board"
    return known.get(name, "a supplier" if name.endswith(".pdf") else "the office")
