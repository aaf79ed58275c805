"""Laws of orders: what was ordered comes once, what is on order is not bought again, money stays.

Orders, receipts in parts, new prices, goods sent back, lines closed, holds, issues, jobs called
off and finished, undo, and the owner's own hand between them, drawn at random.
"""

import shutil
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, TypeAlias

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook

from bom.estimate import buy_for, read_shelf
from bom.job import find_workshop
from bom.shelf.moves import Spent, shelf_of
from bom.workshop.orders import ClosePlan, OrderPlan, ParcelPlan, SendBackPlan
from bom.workshop.shelf_requests import count, hold, issue, put_right, release, take_back
from bom.workshop.stockroom import How, Request, book, undo
from tests.shops import offers
from tests.slow import examples
from tests.stockrooms import listed, loom, packs_by_the_moves, shop

CABLE = (
    ("R1", "1.0", "red", 9, 0.30),
    ("R2", "1.0", "red", 4, 0.34),
    ("R3", "2.0", "black", 5, 0.55),
)
COVERS, TAPE = "bullet cover, male", "loom tape, PVC, 19 mm"
DRAWER = ((COVERS, "each", 20, 10, 50, 0.05), (TAPE, "m", 12, 5, 30, 0.12))
SOLD = offers("Abel cable 0.40 metre; Abel cable 1.75 reel 5; Bert cable 3.10 reel 10", "red")
SOLD += [("Bert", COVERS, None, None, "pack", 10, 0.70, None)]
SOLD += [("Cyra", TAPE, None, None, "reel", 20, 3, None)]
SUPPLIERS = [
    ("Abel", 2, None, None, "no"),
    ("Bert", 3, None, None, "no"),
    ("Cyra", 1, None, 2, "no"),
]
LOOMS = {"twin": ((6, 4.5), 18), "single": ((3.5,), 9), "carrier": ((5, 2, 2), 12)}
"""Of each job its red wires in metres, and its covers."""
JOBS = tuple(LOOMS)
START = {row[0]: float(row[3]) for row in CABLE} | {row[0]: float(row[2]) for row in DRAWER}
HALF_A_CELL = 0.00005
"""A cost is kept to four decimals, so that a cell may be this far from what was paid for one."""

Step: TypeAlias = tuple[str, int, int]
Sheets: TypeAlias = Mapping[str, list[dict[str, Any]]]
"""Cable, Drawer and Orders, their rows by heading."""
ALL = 0b111
"""All three jobs, as bits."""
ALL_ORDERED: Step = ("order", ALL, 0)
OFTEN = ("order", "receive", "receive", "receive", "sendback", "sendback", "hold", "issue")
SELDOM = ("close", "release", "rest", "takeback", "count", "done", "undo", "by hand")
A_MONTH: Sequence[Step] = (
    ("receive", 1, 2),  # a reel, dearer than ordered
    ("receive", 1, 0),  # a pack of covers of two
    ("count", 3, 4),
    ("order", 6, 0),  # what was thought to be there
    ("hold", 0, 0),
    ("sendback", 1, 1),  # that pack
    ("receive", 1, 12),  # three of two, dearer again
    ("sendback", 1, 1),  # two of them
    ("by hand", 3, 30),
    ("issue", 0, 5),
    ("receive", 0, 2),  # a metre of two
    ("rest", 0, 5),
    ("takeback", 0, 0),
    ("order", 6, 0),
    ("count", 3, 2),
    ("issue", 1, 5),
    ("done", 1, 3),
    ("undo", 0, 0),
    ("close", 0, 0),
)
"""Something of everything, after all is ordered."""
STEPS = st.tuples(st.sampled_from((*OFTEN, *SELDOM)), st.integers(0, 11), st.integers(0, 12))


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workshop with three jobs that want more than there is: red 23 m of 13, covers 39 of 20."""
    folder = tmp_path_factory.mktemp("begun")
    shop(folder, CABLE, DRAWER, prices=SOLD, suppliers=SUPPLIERS)
    for name, (metres, covers) in LOOMS.items():
        loom(folder, name, *metres, covers=covers)
    return folder


class Ledger:
    """A workshop whose commands are carried out, and what the laws keep in mind of them."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.opening = dict(START)
        self.by_hand: set[str] = set()
        self.paid: set[tuple[str, float]] = set()
        self.over: set[tuple[str, str, str]] = set()
        self.workshop = find_workshop(folder)

    # --------------------------------------------------------------------- the steps

    def planned(self, step: Step) -> Request | None:
        """The plan of a step; None where there is nothing that it could be about."""
        what, which, much = step
        name = JOBS[which % 3]
        path = self.folder / "jobs" / f"{name}.xlsx"
        plans: dict[str, Callable[[], Request | None]] = {
            "order": lambda: self.order(which, topping_up=much > 9),
            "receive": lambda: self.receive(which, much),
            "sendback": lambda: self.sendback(which, much),
            "close": lambda: self.close(which, much),
            "hold": lambda: hold(*self.paths(JOBS[which % 3 :])),
            "release": lambda: release(path, name),
            "issue": lambda: issue(path, in_part=much > 4),
            "rest": lambda: issue(path, rest=True, in_part=much > 4),
            "takeback": lambda: take_back(self.workshop, [(path, name)]),
            "count": lambda: count(self.workshop, list(START)[which % len(START)], f"{much}"),
            "done": lambda: put_right(_spent(name, much)),
            "undo": lambda: undo,
        }
        return plans[what]()

    def order(self, which: int, *, topping_up: bool) -> Request | None:
        """Order for some of the jobs that are still to be made."""
        chosen = min(which + 1, ALL)
        jobs = [n for at, n in enumerate(JOBS) if chosen >> at & 1 and n not in self.issued()]
        if not jobs:
            return None
        self.placing = OrderPlan(self.paths(jobs), topping_up=topping_up)
        return self.placing

    def receive(self, which: int, much: int) -> Request | None:
        """Some packs of an open line, seldom more than were ordered, at its price or more."""
        lines = [row for row in listed(self.folder, "Orders") if row["came"] < row["packs"]]
        if not lines:
            return None
        line = lines[which % len(lines)]
        rest = int(line["packs"] - line["came"])
        packs = rest + 1 if much == 12 else much % rest + 1
        name = _form_of(line)
        prices = [f"{name}={Decimal(str(line['price'])) * (10 + much) / 10}"] if which % 2 else []
        only = [f"{name}={packs}"]
        return ParcelPlan(self.workshop, line["number"], only=only, prices=prices)

    def sendback(self, which: int, much: int) -> Request | None:
        """A pack or two of a line of which some came."""
        lines = [row for row in listed(self.folder, "Orders") if row["came"]]
        if not lines:
            return None
        line = lines[which % len(lines)]
        packs = min(int(line["came"]), 1 + much % 2)
        return SendBackPlan(line["number"], _form_of(line), str(packs), closed=much > 6)

    def close(self, which: int, much: int) -> Request | None:
        """An order, or a line of it."""
        lines = [row for row in listed(self.folder, "Orders") if row["came"] < row["packs"]]
        if not lines:
            return None
        line = lines[which % len(lines)]
        return ClosePlan(line["number"], _form_of(line) if much % 2 else "")

    def types(self, which: int, much: int) -> None:
        """The owner types another amount; what has not moved yet opens with it."""
        name = list(START)[which % len(START)]
        path = self.folder / "stock.xlsx"
        owned = load_workbook(path)
        sheet, column = (owned["Cable"], 4) if name[0] == "R" else (owned["Drawer"], 3)
        (row,) = (cells[0].row for cells in sheet.iter_rows() if cells[0].value == name)
        sheet.cell(row, column).value = much
        owned.save(path)
        if name in {move["item"] for move in listed(self.folder, "Moves")}:
            self.by_hand.add(name)
        else:
            self.opening[name] = much

    # -------------------------------------------------------------------- what there is

    def paths(self, jobs: Sequence[str]) -> list[Path]:
        """The books of these jobs."""
        return [self.folder / "jobs" / f"{name}.xlsx" for name in jobs]

    def issued(self) -> set[str]:
        """The jobs that were ever issued, undone or not."""
        return {move["job"] for move in listed(self.folder, "Moves") if move["what"] == "issue"}

    def sheets(self) -> Sheets:
        """What the owner sees beside the moves."""
        return {name: listed(self.folder, name) for name in ("Cable", "Drawer", "Orders")}


def _spent(job: str, much: int) -> Spent:
    drawn = {(COVERS, "each"): Decimal(much)}
    return Spent(job=job, drawn=drawn, cable={"1.0 red": Decimal(900 * much)}, pieces={})


def _form_of(line: Mapping[str, Any]) -> str:
    """A line by its item and form: cable is sold in three."""
    pack = line["pack"] or 1
    return f"{line['item']}, {line['sold as']}" + (f" of {pack:g}" if pack != 1 else "")


def amounts(sheets: Sheets) -> dict[str, float]:
    """What there is of each length and item."""
    cable = {row["piece"]: row["length"] for row in sheets["Cable"]}
    return cable | {row["item"]: row["on hand"] for row in sheets["Drawer"]}


# ------------------------------------------------------------------------------ the laws


def adds_up(ledger: Ledger, sheets: Sheets) -> None:
    """Opening and moves make what is on hand, of everything that the owner has not typed over."""
    should = dict(ledger.opening)
    for move in listed(ledger.folder, "Moves"):
        should[move["item"]] = should.get(move["item"], 0) + move["change"]
    there = amounts(sheets)
    assert all(amount >= 0 for amount in there.values())
    for name in {*there, *should} - ledger.by_hand:
        assert there.get(name, 0) == pytest.approx(should.get(name, 0)), name


def came_once(ledger: Ledger, sheets: Sheets, remarks: str) -> None:
    """Packs that came are those of the moves, and no more than were ordered unless it was said."""
    for row in sheets["Orders"]:
        assert row["came"] == packs_by_the_moves(ledger.folder, row), row
        known = (row["number"], row["item"], _form_of(row))
        if row["came"] > row["packs"]:
            ledger.over |= {known} if f"{row['item']}: " in remarks else set()
            assert known in ledger.over, row


def held_is_there(ledger: Ledger) -> None:
    """Nothing is set aside that is not there, but for what the owner has typed over."""
    stock, _ = read_shelf(ledger.folder / "stock.xlsx", ledger.workshop.catalogue)
    shelf, _ = shelf_of(stock)
    for hold_ in shelf.history.holds:
        if hold_.item in ledger.by_hand:
            continue
        (account,) = shelf.find(hold_.item)
        assert shelf.held(account.key) <= account.on_hand, hold_


def not_bought_again(ledger: Ledger, jobs: Sequence[str], *, topping_up: bool) -> None:
    """What is on order and on the shelf is not proposed a second time."""
    again = buy_for(ledger.paths(jobs), topping_up=topping_up)
    assert again.order.lines == ()


def lacking_is_bought(
    placing: OrderPlan, before: Mapping[str, Any], after: Mapping[str, Any]
) -> None:
    """Where all jobs are ordered for: wanted = there + on order + proposed, in whole packs."""
    wanted = sum(LOOMS[path.stem][1] for path in placing._jobs)
    coming = sum(
        (row["packs"] - row["came"]) * row["pack"]
        for row in before["Orders"]
        if row["item"] == COVERS and row["packs"] > row["came"]
    )
    new = after["Orders"][len(before["Orders"]) :]
    bought = sum(row["packs"] for row in new if row["item"] == COVERS)
    waiting = [row["needed"] for row in new if row["item"] == COVERS]
    lacking = wanted - amounts(before)[COVERS] - coming
    assert bought == max(0, -(-lacking // 10))
    assert sum(float(part) for cell in waiting for part in f"{cell}".split(",")) == max(0, lacking)


def costs(sheets: Sheets) -> dict[str, float]:
    """What one metre or piece of each thing cost, as its cell has it."""
    cable = {row["piece"]: row["cost per m"] for row in sheets["Cable"]}
    return cable | {row["item"]: row["cost"] for row in sheets["Drawer"]}


def worth(sheets: Sheets) -> float:
    """All of the shelf at what it cost."""
    each = costs(sheets)
    return sum(amount * each[name] for name, amount in amounts(sheets).items() if amount)


def money_stays(what: str, before: Sheets, after: Sheets, paid: set[tuple[str, float]]) -> None:
    """A parcel makes the shelf worth what was paid for it; what goes back takes that with it.

    Else no cost changes.  To what cost cells can hold: half of their last digit for each metre or
    piece that lies there.  `paid` are the prices at which packs of an item were ever had.
    """
    there, was, each = amounts(after), amounts(before), costs(after)
    moved = [name for name, amount in there.items() if amount != was.get(name, 0)]
    by = worth(after) - worth(before)
    unsure = 1e-9 + HALF_A_CELL * sum(there[name] + was.get(name, 0) for name in moved)
    come = [
        (new["item"], new["came"] - old["came"], new["price"])
        for old, new in zip(before["Orders"], after["Orders"], strict=True)
        if new["came"] != old["came"]
    ]
    if what == "receive":
        assert by == pytest.approx(sum(packs * price for _, packs, price in come), abs=unsure)
    elif what == "sendback":
        ((item, packs, _),) = come
        at_cost = sum((there[n] - was[n]) * each[n] for n in moved)
        back = (at_cost, *(packs * price for known, price in paid if known == item))
        assert any(by == pytest.approx(value, abs=unsure) for value in back)
    else:
        assert all(each[name] == cost for name, cost in costs(before).items())


@examples(1, 60)
def test_the_laws_of_orders(count: int, begun: Path) -> None:
    """After every command that is written; what is refused leaves every byte."""

    @settings(max_examples=count)
    @given(st.lists(STEPS, min_size=9, max_size=12))
    @example(A_MONTH)
    def holds(steps: Sequence[Step]) -> None:
        with TemporaryDirectory() as place:
            ledger = Ledger(shutil.copytree(begun, Path(place) / "shop"))
            for step in (ALL_ORDERED, *steps):
                lawful(ledger, step)
            assert listed(ledger.folder, "Moves")  # an order may be undone, what was done is told

    holds()


def lawful(ledger: Ledger, step: Step) -> None:
    """Carry one step out, and see that the laws still hold."""
    what, which, much = step
    if what == "by hand":
        ledger.types(which, much)
        return
    plan = ledger.planned(step)
    if plan is None:
        return
    path = ledger.folder / "stock.xlsx"
    old, before = path.read_bytes(), ledger.sheets()
    booked = book(ledger.workshop, plan, How(yes=True))
    if not booked.written:
        assert path.read_bytes() == old
        return
    ledger.by_hand -= {entry.item for entry in booked.entries}
    after = ledger.sheets()
    adds_up(ledger, after)
    came_once(ledger, after, "\n".join(booked.remarks))
    held_is_there(ledger)
    ledger.paid |= {(row["item"], row["price"]) for row in after["Orders"]}
    if what not in ("order", "undo"):
        money_stays(what, before, after, ledger.paid)
    if what == "order" and which + 1 >= ALL and much <= 9 and not ledger.issued():
        lacking_is_bought(ledger.placing, before, after)
    if what == "order":
        jobs = [path.stem for path in ledger.placing._jobs]
        not_bought_again(ledger, jobs, topping_up=much > 9)


@examples(1, 40)
def test_undo_brings_every_sheet_back(count: int, begun: Path) -> None:
    """Command by command, cell for cell: lengths, drawer, orders and what is set aside."""

    def state(ledger: Ledger) -> tuple[Any, ...]:
        stock, _ = read_shelf(ledger.folder / "stock.xlsx", ledger.workshop.catalogue)
        return ledger.sheets(), sorted(map(str, stock.holds)), stock.issued

    steps = STEPS.filter(lambda step: step[0] not in ("undo", "by hand"))

    @settings(max_examples=count)
    @given(st.lists(steps, min_size=5, max_size=8))
    @example([step for step in A_MONTH if step[0] not in ("undo", "by hand")])
    def holds(drawn: Sequence[Step]) -> None:
        with TemporaryDirectory() as place:
            ledger = Ledger(shutil.copytree(begun, Path(place) / "shop"))
            seen = []
            for step in (ALL_ORDERED, *drawn):
                before, plan = state(ledger), ledger.planned(step)
                if plan and book(ledger.workshop, plan, How()).written:
                    seen.append(before)
            for before in reversed(seen):
                assert book(ledger.workshop, undo, How()).written
                assert state(ledger) == before

    holds()
