"""What each command answers as JSON: stable keys, whole mm, money as decimal strings."""

from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, PlainSerializer

from bom.estimate import Bought
from bom.files.headings import TakenFor
from bom.files.spelling import plain
from bom.job import Job
from bom.trade.job_book import Colour
from bom.trade.needs import Cut, Offcut, Short, Takeoff
from bom.trade.orders import Order, Purchase
from bom.trade.problem import Problem
from bom.trade.quotes import Quote, Range
from bom.trade.wires import SizedWire


def _money(value: Decimal | None) -> str | None:
    return None if value is None else f"{value:.2f}"


def _unit_price(value: Decimal) -> str:
    """Two decimals or more: a price net of tax may have more than pence.

    >>> _unit_price(Decimal("0.4")), _unit_price(Decimal("0.4125"))
    ('0.40', '0.4125')
    """
    exact = plain(round(value, 4))
    decimals = len(exact.partition(".")[2])
    return exact if decimals >= 2 else f"{value:.2f}"


def _number(value: Decimal | Fraction | float) -> int | float:
    return int(value) if value == int(value) else float(value)


Money = Annotated[Decimal, PlainSerializer(_money)]
UnitPrice = Annotated[Decimal, PlainSerializer(_unit_price)]
Number = Annotated[Decimal | Fraction | float, PlainSerializer(_number)]


class Answer(BaseModel):
    """What every answer has: frozen, and a text of its own."""

    model_config = ConfigDict(arbitrary_types_allowed=True, populate_by_name=True, frozen=True)

    def text(self) -> str:
        """The JSON text, keys as outside readers know them."""
        return self.model_dump_json(by_alias=True, indent=2)


class ProblemOut(Answer):
    """One problem with its place."""

    level: str
    file: str
    sheet: str
    cell: str
    says: str
    cure: str = Field(serialization_alias="try")


def problems_out(problems: Iterable[Problem]) -> list[ProblemOut]:
    """Problems as JSON has them."""
    return [
        ProblemOut(
            level=p.level,
            file=p.where.file,
            sheet=p.where.sheet,
            cell=p.where.cell,
            says=p.says,
            cure=p.cure,
        )
        for p in problems
    ]


class ProblemsOut(Answer):
    """Answer of a command that was refused before it had another."""

    problems: list[ProblemOut]


class WireOut(Answer):
    """One row of the Circuits sheet as sized; amps and volts of one wire."""

    wire: str
    gauge: str
    amps: Number
    rated_amps: Number
    fuse: Number | None
    drop_volts: float
    drop_percent: float


class CheckOut(Answer):
    """Answer of `bom check`."""

    problems: list[ProblemOut]
    wires: list[WireOut]


def check_out(job: Job) -> CheckOut:
    """Problems, and every wire that could be sized."""
    volts = float(job.rules.volts)
    wires = job.sized.wires if job.sized else ()
    return CheckOut(
        problems=problems_out(job.problems), wires=[_wire_out(wire, volts) for wire in wires]
    )


class ColumnOut(Answer):
    """A heading and the column it is taken for, '' where it is not read."""

    sheet: str
    cell: str
    heading: str
    column: str
    unit: str
    known_by: str


class ColumnsOut(Answer):
    """Answer of `bom check --columns`."""

    columns: list[ColumnOut]
    problems: list[ProblemOut]


def columns_out(taken: Iterable[TakenFor], problems: Iterable[Problem]) -> ColumnsOut:
    """Every heading, and what stands in the way of reading more."""
    columns = [
        ColumnOut(
            sheet=t.where.sheet,
            cell=t.where.cell,
            heading=t.heading,
            column=t.column,
            unit=t.unit,
            known_by=t.how,
        )
        for t in taken
    ]
    return ColumnsOut(columns=columns, problems=problems_out(problems))


def _wire_out(entry: SizedWire, volts: float) -> WireOut:
    return WireOut(
        wire=entry.wire.label,
        gauge=entry.cable.gauge,
        amps=entry.loaded.amps,
        rated_amps=entry.cable.rated_amps,
        fuse=entry.fuse_amps,
        drop_volts=round(entry.drop_volts, 6),
        drop_percent=round(100 * entry.drop_volts / volts, 6),
    )


class NeedOut(Answer):
    """One line of the take-off."""

    kind: str
    item: str
    gauge: str
    colour: str
    quantity: Number
    unit: str
    pieces_mm: list[int]
    spare_mm: int
    wires: list[str] = Field(serialization_alias="for")


class TakeoffOut(Answer):
    """Answer of `bom takeoff`."""

    job: str
    needs: list[NeedOut]
    problems: list[ProblemOut]


def takeoff_out(job: Job) -> TakeoffOut:
    """The bill of materials."""
    return TakeoffOut(job=job.name, needs=_needs(job.takeoff), problems=problems_out(job.problems))


def _needs(takeoff: Takeoff | None) -> list[NeedOut]:
    return [
        NeedOut(
            kind=need.kind,
            item=need.item,
            gauge=need.gauge,
            colour=_colour(need.colour),
            quantity=need.quantity,
            unit=need.unit,
            pieces_mm=[length for length, _ in need.pieces],
            spare_mm=need.spare_mm,
            wires=list(need.wires),
        )
        for need in (takeoff.needs if takeoff else ())
    ]


def _colour(colour: Colour | None) -> str:
    return "" if colour is None else str(colour)


class CutOut(Answer):
    """One piece to cut."""

    wire: str
    gauge: str
    colour: str
    length_mm: int
    start: str = Field(serialization_alias="from")
    finish: str = Field(serialization_alias="to")
    start_end: str = Field(serialization_alias="from_end")
    finish_end: str = Field(serialization_alias="to_end")
    piece: str
    new: bool


class OffcutOut(Answer):
    """What is left of an opened piece."""

    piece: str
    gauge: str
    colour: str
    length_mm: int
    new: bool


class ShortOut(Answer):
    """Cable that the shelf does not have."""

    item: str
    gauge: str
    colour: str
    pieces_mm: list[int]
    spare_mm: int
    wires: list[str]


class CutListOut(Answer):
    """Answer of `bom cut`."""

    cuts: list[CutOut]
    offcuts: list[OffcutOut]
    short: list[ShortOut]
    proved: bool
    problems: list[ProblemOut]


def cut_out(bought: Bought) -> CutListOut:
    """Every wire with its piece; `proved`: no cheaper purchase would do for these pieces."""
    wires = bought.wires
    short = bought.cut_list.short
    return CutListOut(
        cuts=[_cut_out(cut, wires[cut.job, cut.wire]) for cut in bought.cuts],
        offcuts=[_offcut_out(offcut) for offcut in bought.cut_list.offcuts],
        short=[_short_out(missing) for missing in short],
        proved=not short or bought.order.proved,
        problems=problems_out(bought.problems),
    )


def _cut_out(cut: Cut, wire: SizedWire) -> CutOut:
    return CutOut(
        wire=cut.wire,
        gauge=cut.gauge,
        colour=str(cut.colour),
        length_mm=cut.length_mm,
        start=str(wire.wire.start),
        finish=str(wire.wire.finish),
        start_end=wire.start_end,
        finish_end=wire.finish_end,
        piece=cut.piece,
        new=cut.new,
    )


def _offcut_out(offcut: Offcut) -> OffcutOut:
    return OffcutOut(
        piece=offcut.piece,
        gauge=offcut.gauge,
        colour=str(offcut.colour),
        length_mm=offcut.length_mm,
        new=offcut.new,
    )


def _short_out(missing: Short) -> ShortOut:
    return ShortOut(
        item=missing.item,
        gauge=missing.gauge,
        colour=_colour(missing.colour),
        pieces_mm=[length for length, _, _ in missing.pieces],
        spare_mm=missing.spare_mm,
        wires=[wire for _, _, wire in missing.pieces],
    )


class LineOut(Answer):
    """One line of the order; `price` of one pack, `cost` of all, both without tax."""

    supplier: str
    item: str
    gauge: str
    colour: str
    sold_as: str
    pack: Number
    packs: int
    price: UnitPrice
    cost: Money
    jobs: list[str] = Field(serialization_alias="for")


class UnpricedOut(Answer):
    """What is short and on no price list."""

    item: str
    gauge: str
    colour: str
    quantity: Number
    unit: str
    jobs: list[str] = Field(serialization_alias="for")


class OrderOut(Answer):
    """Answer of `bom order` and `bom topup`."""

    lines: list[LineOut]
    postage: Money
    total: Money
    proved: bool
    bound: Money
    unpriced: list[UnpricedOut]
    problems: list[ProblemOut]


def order_out(bought: Bought) -> OrderOut:
    """The shopping list."""
    order: Order = bought.order
    return OrderOut(
        lines=[_line_out(line) for line in order.lines],
        postage=sum(order.postage.values(), Decimal()),
        total=order.total,
        proved=order.proved,
        bound=order.bound,
        unpriced=[
            UnpricedOut(
                item=missing.item,
                gauge=missing.gauge,
                colour=_colour(missing.colour),
                quantity=missing.quantity,
                unit=missing.unit,
                jobs=list(missing.jobs),
            )
            for missing in order.unpriced
        ],
        problems=problems_out(bought.problems),
    )


def _line_out(line: Purchase) -> LineOut:
    return LineOut(
        supplier=line.supplier,
        item=line.item,
        gauge=line.gauge,
        colour=_colour(line.colour),
        sold_as=line.sold_as,
        pack=line.pack,
        packs=line.packs,
        price=line.price,
        cost=line.cost,
        jobs=list(line.jobs),
    )


class QuoteLineOut(Answer):
    """One line of the estimate."""

    group: str
    item: str
    quantity: Number
    unit: str
    cost: Money | None
    price: Money


class RangeOut(Answer):
    """The total and one standard deviation down and up from it, all with tax."""

    low: Money
    likely: Money
    high: Money


class QuoteOut(Answer):
    """Answer of `bom quote`; `range` is null where no row has a doubt."""

    lines: list[QuoteLineOut]
    materials: Money
    labour: Money
    net: Money
    tax: Money
    total: Money
    range: RangeOut | None
    complete: bool
    problems: list[ProblemOut]


def quote_out(bought: Bought, quote: Quote | None) -> QuoteOut:
    """The estimate; zeros and no lines when the job has errors."""
    zero = Decimal()
    if quote is None:
        return QuoteOut(
            lines=[],
            materials=zero,
            labour=zero,
            net=zero,
            tax=zero,
            total=zero,
            range=None,
            complete=False,
            problems=problems_out(bought.problems),
        )
    return QuoteOut(
        lines=[
            QuoteLineOut(
                group=line.group,
                item=line.item,
                quantity=line.quantity,
                unit=line.unit,
                cost=line.cost,
                price=line.price,
            )
            for line in quote.lines
        ],
        materials=quote.materials,
        labour=quote.labour,
        net=quote.net,
        tax=quote.tax,
        total=quote.total,
        range=_range_out(quote.range),
        complete=quote.complete,
        problems=problems_out(bought.problems),
    )


def _range_out(found: Range | None) -> RangeOut | None:
    if found is None:
        return None
    return RangeOut(low=found.low, likely=found.likely, high=found.high)


class PackOut(Answer):
    """Answer of `bom pack`."""

    job: str
    files: list[str]
    problems: list[ProblemOut]


def pack_out(bought: Bought, files: Iterable[Path]) -> PackOut:
    """The files that were written."""
    return PackOut(
        job=bought.jobs[0].name,
        files=[str(path) for path in files],
        problems=problems_out(bought.problems),
    )


class WhyOut(Answer):
    """Answer of `bom why`."""

    job: str
    subject: str
    lines: list[str]
    problems: list[ProblemOut]


def why_out(job: Job, subject: str, lines: Iterable[str]) -> WhyOut:
    """The reasons, a sentence a line."""
    return WhyOut(
        job=job.name, subject=subject, lines=list(lines), problems=problems_out(job.problems)
    )


def dumped(answer: BaseModel) -> dict[str, Any]:
    """An answer as plain data, for tests and for whoever calls the library."""
    return answer.model_dump(mode="json", by_alias=True)
