"""A change of the shelf put together: the rows of Moves, and what becomes of which cell."""

from collections import defaultdict
from collections.abc import Mapping
from decimal import Decimal
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from bom.files.spelling import plain
from bom.files.units import ThingKey, key_of, per_unit, shown
from bom.shelf.moves.account import Account, Shelf, Spot
from bom.trade.placed import OrderLine
from bom.trade.problem import Problem, Where, error
from bom.trade.rows import Row, Written
from bom.trade.shelf import DrawerItem


class Entry(Struct, frozen=True, kw_only=True):
    """A row of Moves to be; amounts in `unit`, and `before` as the book has it."""

    what: str
    job: str
    item: str
    before: Decimal
    change: Decimal
    left: Decimal
    unit: str
    note: str
    is_no_thing: bool = False
    """It is about a job or an order."""


class NewValue(Struct, frozen=True, kw_only=True):
    """A cell of a row that is there gets another value; None empties it."""

    row: Row
    heading: str
    value: Written


class NewListRow(Struct, frozen=True, kw_only=True):
    """A new row of Cable, Drawer or Orders, by heading."""

    listing: Literal["Cable", "Drawer", "Orders"]
    values: Mapping[str, Written]


class Emptied(Struct, frozen=True):
    """A row that a command made, and that goes away with it: all its own cells."""

    row: Row


class Booking(Struct, frozen=True, kw_only=True):
    """What is to be written; `remarks` are sentences about it for the owner."""

    entries: tuple[Entry, ...] = ()
    puts: tuple[NewValue, ...] = ()
    added: tuple[NewListRow, ...] = ()
    emptied: tuple[Emptied, ...] = ()
    remarks: tuple[str, ...] = ()
    doubts: tuple[Problem, ...] = ()
    """What the owner has to say yes to before it is written."""
    takes_over: bool = False
    """Only the moves are brought into line with the book."""

    def then(self, other: "Booking") -> "Booking":
        """Both as one: what the other books comes after."""
        return replace(
            self,
            entries=(*self.entries, *other.entries),
            puts=(*self.puts, *other.puts),
            added=(*self.added, *other.added),
            emptied=(*self.emptied, *other.emptied),
            remarks=(*self.remarks, *other.remarks),
            doubts=(*self.doubts, *other.doubts),
        )

    @property
    def keys(self) -> set[ThingKey]:
        """The things that it touches."""
        return {key_of(entry.item, entry.unit) for entry in self.entries}


class Refusal(Exception):
    """The change is not made, and why: all reasons at once."""

    def __init__(self, *problems: Problem) -> None:
        super().__init__(*problems)
        self.problems = problems


class _New(Struct, kw_only=True):
    """A row to be added, and how much of the thing it holds by now."""

    listing: Literal["Cable", "Drawer"]
    values: dict[str, Written]
    heading: str
    per: Decimal
    amount: Decimal = Decimal()


class Draft:
    """A booking in the making: every change goes through `move`, so that none is unwritten."""

    def __init__(self, shelf: Shelf) -> None:
        self._shelf = shelf
        self._amounts: dict[tuple[ThingKey, int], Decimal] = {}
        self._new: dict[ThingKey, _New] = {}
        self._ordered: list[NewListRow] = []
        self._puts: dict[tuple[Row, str], NewValue] = {}
        self._emptied: list[Emptied] = []
        self._entries: list[Entry] = []
        self._problems: list[Problem] = []
        self._remarks: list[str] = []
        self._doubts: list[Problem] = []
        self._missing: dict[ThingKey, Decimal] = defaultdict(Decimal)

    def on_hand(self, key: ThingKey) -> Decimal:
        """How much there is of a thing by now."""
        if key in self._new:
            return self._new[key].amount
        account = self._shelf.accounts.get(key)
        spots = account.spots if account else ()
        return sum((self._at(key, n, spot) for n, spot in enumerate(spots)), Decimal())

    def _at(self, key: ThingKey, number: int, spot: Spot) -> Decimal:
        return self._amounts.get((key, number), spot.amount)

    def knows(self, key: ThingKey) -> bool:
        """True for what is on the shelf or is being put there."""
        return key in self._new or key in self._shelf.accounts

    def start(
        self,
        name: str,
        unit: str,
        listing: Literal["Cable", "Drawer"],
        values: Mapping[str, Written],
    ) -> ThingKey:
        """Begin a new row for a thing that the book has not; `move` says how much there is."""
        key = key_of(name, unit)
        cable = listing == "Cable"
        place = self._shelf.stock.lists.get(listing)
        own = (place.units.get("length") if place and cable else None) or unit
        named = {"piece": name} if cable else {"item": name, "unit": unit}
        self._new[key] = _New(
            listing=listing,
            values={**named, **values},
            heading="length" if cable else "on hand",
            per=per_unit(own),
        )
        return key

    def move(self, key: ThingKey, what: str, by: Decimal, *, job: str = "", note: str = "") -> None:
        """Book one change in millimetres or the thing's own unit; below zero it is refused."""
        name, unit = self._named(key)
        per = per_unit(unit)
        before = self.on_hand(key)
        if before + by < 0:
            self._missing[key] = max(self._missing[key], -by - before)
            account = self._shelf.accounts.get(key)
            where = account.where if account else Where(self._shelf.stock.file)
            says = (
                f"{plain(shown(before, per))} {unit} of '{name}' on hand, "
                f"{plain(shown(-by, per))} {unit} to be taken"
            )
            self.refuse(error(where, says, f"bom stock count '{name}' with what is really there"))
            return
        self._spread(key, by)
        self._entries.append(
            Entry(
                what=what,
                job=job,
                item=name,
                before=shown(before, per),
                change=shown(by, per),
                left=shown(before + by, per),
                unit=unit,
                note=note,
            )
        )

    def note(self, key: ThingKey, what: str, *, job: str = "", note: str = "") -> None:
        """A row of Moves about a thing that the book has no longer; nothing comes or goes."""
        thread = self._shelf.history.threads[key]
        left = shown(thread.left, per_unit(thread.unit))
        self._entries.append(
            Entry(
                what=what,
                job=job,
                item=thread.name,
                before=left,
                change=Decimal(),
                left=left,
                unit=thread.unit,
                note=note,
            )
        )

    def about(self, what: str, subject: str, *, job: str = "", note: str = "") -> None:
        """A row of Moves about no thing of the shelf, such as an order."""
        self._entries.append(
            Entry(
                what=what,
                job=job,
                item=subject,
                before=Decimal(),
                change=Decimal(),
                left=Decimal(),
                unit="each",
                note=note,
                is_no_thing=True,
            )
        )

    def order(self, values: Mapping[str, Written]) -> None:
        """A new row of Orders."""
        self._ordered.append(NewListRow(listing="Orders", values=values))

    def packs(self, line: OrderLine, heading: Literal["packs", "came"]) -> int:
        """How many packs of a line are ordered, or came, by now."""
        put = self._puts.get((line.row, heading))
        known = line.packs if heading == "packs" else line.came
        return int(put.value) if put and isinstance(put.value, int) else known

    def set_on(self, line: OrderLine, heading: str, value: Written) -> None:
        """Another value for a cell of an order's line."""
        if heading not in line.row.letters:
            says = f"no column '{heading}'"
            where = replace(line.row.where("number"), cell="")
            self.refuse(error(where, says, f"the heading '{heading}'"))
            return
        self._puts[line.row, heading] = NewValue(row=line.row, heading=heading, value=value)

    def unit(self, key: ThingKey) -> str:
        """The unit that a thing is counted or measured in."""
        return self._named(key)[1]

    def _named(self, key: ThingKey) -> tuple[str, str]:
        if key in self._new:
            values = self._new[key].values
            return str(values.get("piece") or values["item"]), str(values.get("unit") or "m")
        account = self._shelf.accounts[key]
        return account.name, account.unit

    def _spread(self, key: ThingKey, by: Decimal) -> None:
        """More goes where the thing stands first, less comes from where there is some."""
        if key in self._new:
            self._new[key].amount += by
            return
        for number, spot in enumerate(self._shelf.accounts[key].spots):
            there = self._at(key, number, spot)
            part = by if by > 0 else max(by, -there)
            self._amounts[key, number] = there + part
            by -= part
            if not by:
                return

    def put(self, account: Account, heading: str, value: Written) -> bool:
        """Another value for a cell beside the amount, in the first row of a thing.

        False where the list has no such column.
        """
        row = account.spots[0].row
        if heading not in row.letters:
            return False
        self._puts[row, heading] = NewValue(row=row, heading=heading, value=value)
        return True

    def cost(self, account: Account) -> Decimal | None:
        """What one of a thing's own unit costs by now."""
        put = self._puts.get((account.spots[0].row, "cost"))
        if put is not None:
            return put.value if isinstance(put.value, Decimal) else None
        item = account.item
        if not isinstance(item, DrawerItem) or item.cost is None:
            return None
        return item.cost * account.per

    def drop(self, row: Row) -> None:
        """The row of a thing goes away."""
        self._emptied.append(Emptied(row))

    def refuse(self, problem: Problem) -> None:
        """Note why the change cannot be made."""
        self._problems.append(problem)

    def doubt(self, problem: Problem) -> None:
        """Note what the owner has to say yes to before it is written."""
        self._doubts.append(problem)

    def remark(self, says: str) -> None:
        """Note what the owner should know of the change."""
        self._remarks.append(says)

    def booking(self) -> Booking:
        """All of it; raises `Refusal` where something was refused."""
        if self._problems:
            raise Refusal(*self._problems)
        gone = {emptied.row for emptied in self._emptied}
        puts = [put for put in (*self._amount_puts(), *self._puts.values()) if put.row not in gone]
        return Booking(
            entries=tuple(self._entries),
            puts=tuple(puts),
            added=tuple(self._added()),
            emptied=tuple(self._emptied),
            remarks=tuple(self._remarks),
            doubts=tuple(self._doubts),
        )

    def _amount_puts(self) -> list[NewValue]:
        puts = []
        for (key, number), amount in self._amounts.items():
            spot = self._shelf.accounts[key].spots[number]
            if amount != spot.amount:
                value = shown(amount, spot.per)
                puts.append(NewValue(row=spot.row, heading=spot.heading, value=value))
        return puts

    def _added(self) -> list[NewListRow]:
        things = [
            NewListRow(
                listing=new.listing, values={**new.values, new.heading: shown(new.amount, new.per)}
            )
            for new in self._new.values()
        ]
        return [*things, *self._ordered]
