"""What is printed on each sheet of a job: from the results of the stages to text.

Money and dates are written as the house's locale has them.  The customer's sheet is made of the
groups and sums of the estimate alone: no cost, no markup, no supplier.
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from decimal import Decimal
from functools import cached_property
from typing import TYPE_CHECKING, Any, TypeAlias

from bom.estimate import Bought
from bom.files.spelling import plain
from bom.job import Job
from bom.show.drawing import Picture, Stretch, drawn, full_size
from bom.show.job_tables import BENCH_CAUTIONS, QUOTE_CAUTIONS
from bom.show.paper import pdf
from bom.trade.catalogue_rows import BY_SLEEVE
from bom.trade.figures import round_money
from bom.trade.house import HouseRules
from bom.trade.job_book import Colour, Pin
from bom.trade.orders import Purchase
from bom.trade.point_names import is_battery, is_earth
from bom.trade.quotes import Quote
from bom.trade.wires import Bundle, Joint, SizedWire

if TYPE_CHECKING:
    from babel import Locale

Shown: TypeAlias = dict[str, Any]
"""Text, lists and maps of text, as the sheets are made from."""

_PNG = b"\x89PNG\r\n\x1a\n"
_TEST_HEADINGS = (
    *("wire", "from", "to", "goes through", "no short to earth", "insulation"),
    *("fuse fitted", "expected", "measured"),
)


def job_papers(bought: Bought, estimate: Quote, today: date) -> dict[str, bytes]:
    """File name -> PDF: quotation, bench sheets, wire labels, and an order for each supplier."""
    printer = _Printer(bought, today)
    orders = {
        f"order {file_name(supplier)}.pdf": pdf("order", printer.order(supplier))
        for supplier in dict.fromkeys(line.supplier for line in bought.order.lines)
    }
    return {
        "quotation.pdf": quotation(bought, estimate, today),
        "bench.pdf": pdf("bench", printer.bench()),
        "labels.pdf": pdf("labels", printer.labels()),
        **({"loom.pdf": pdf("loom", printer.board())} if printer.has_loom else {}),
        **orders,
    }


def quotation(bought: Bought, estimate: Quote, today: date) -> bytes:
    """The sheet for the customer, as PDF."""
    return pdf("quotation", _Printer(bought, today).quotation(estimate))


def file_name(text: str) -> str:
    """A text as a name that every system allows for a file."""
    return re.sub(r'[<>:"/\\|?*\x00-\x1f]', " ", text).strip(" .") or "job"


def _parts(text: str) -> list[str]:
    return [part.strip() for part in text.split(";") if part.strip()]


def _is_joint(point: str, style: str) -> bool:
    """Whether bare ends at a point are surely joined there, as they are not at a switch."""
    return style == "splice" or "earth" in point.casefold().split()


def _picture(drawing: Picture) -> Shown:
    return {"svg": drawing.svg, "width": drawing.width_mm, "height": drawing.height_mm}


class _Printer:
    """One job's sheets; several jobs that were bought together are printed one by one."""

    def __init__(self, bought: Bought, today: date) -> None:
        self.bought = bought
        self.job: Job = bought.jobs[0]
        self.rules: HouseRules = self.job.rules
        self.today = today

    # ------------------------------------------------------------------------- words

    @cached_property
    def _locale(self) -> "Locale":
        from babel import Locale, UnknownLocaleError

        try:
            return Locale.parse(self.rules.locale)
        except (UnknownLocaleError, ValueError) as fault:
            says = f"locale '{self.rules.locale}' is not known; try: en_GB, de_DE, fr_FR ..."
            raise ValueError(says) from fault

    def money(self, amount: Decimal) -> str:
        """An amount with its currency, as the locale writes it."""
        from babel.numbers import format_currency

        return str(format_currency(amount, self.rules.currency, locale=self._locale))

    def number(self, amount: Decimal) -> str:
        """A number with the locale's decimal sign."""
        from babel.numbers import format_decimal

        return str(format_decimal(amount, format="#,##0.####", locale=self._locale))

    def day(self, day: date) -> str:
        """A date, its month in letters."""
        from babel.dates import format_date

        return str(format_date(day, format="long", locale=self._locale))

    def colours(self, colour: Colour | None) -> Shown:
        """A colour in words, and for its stripe in RGB."""
        hexes = {row.word: row.hex for row in self.job.workshop.catalogue.colours}
        body = colour.body if colour else ""
        trace = colour.trace if colour else ""
        return {
            "colour": str(colour or "any colour"),
            "body": hexes.get(body, "#ffffff"),
            "trace": hexes.get(trace) if trace else None,
        }

    # -------------------------------------------------------------------- the letter

    def letterhead(self) -> Shown:
        """The workshop as its paper says it."""
        name = self.rules.name or "Workshop"
        return {"name": name, "address": _parts(self.rules.address), "logo": self._logo()}

    def _logo(self) -> Shown | None:
        folder = self.job.workshop.folder
        if not self.rules.logo or folder is None:
            return None
        path = folder / self.rules.logo
        if not path.is_file():
            says = f"logo '{self.rules.logo}': there is no such file"
            raise ValueError(f"{says}; try: a picture beside workshop.toml")
        data = path.read_bytes()
        if data.startswith(_PNG):
            return {"kind": "png", "png": list(data)}
        if path.suffix.casefold() == ".svg":
            return {"kind": "svg", "svg": data.decode("utf-8", "replace")}
        says = f"logo '{self.rules.logo}': neither a .png nor an .svg"
        raise ValueError(f"{says}; try: save the picture as one")

    def _about(self) -> list[tuple[str, str]]:
        book = self.job.book
        known = (
            ("for", book.customer if book else ""),
            ("machine", book.machine if book else ""),
            ("job", self.job.name),
        )
        return [(name, value) for name, value in known if value]

    def quotation(self, estimate: Quote) -> Shown:
        """What the customer sees: groups and sums."""
        number = self.rules.number or self.job.name
        until = self.today + timedelta(days=self.rules.valid_days)
        groups: dict[str, Decimal] = defaultdict(Decimal)
        for line in estimate.lines:
            groups[line.group] += line.price
        return {
            "title": f"Quotation {number}",
            "heading": "Quotation",
            "workshop": self.letterhead(),
            "about": self._about(),
            "dates": [
                ("number", number),
                ("date", self.day(self.today)),
                ("valid until", self.day(until)),
            ],
            "included": _parts(self.rules.included),
            "excluded": _parts(self.rules.not_included),
            "lines": [(group, self.money(price)) for group, price in groups.items()],
            "sums": [
                ("net", self.money(estimate.net)),
                (f"tax {self.number(self.rules.tax_percent)} %", self.money(estimate.tax)),
            ],
            "total": ("Total", self.money(estimate.total)),
            "likely": self._likely(estimate),
            "notes": list(self._notes(estimate)),
            "terms": _parts(self.rules.terms),
            "cautions": list(QUOTE_CAUTIONS),
        }

    def _likely(self, estimate: Quote) -> str | None:
        """The range that the marked doubts leave, where it is one."""
        found = estimate.range
        if found is None or found.low == found.high:
            return None
        return f"likely between {self.money(found.low)} and {self.money(found.high)}"

    def _notes(self, estimate: Quote) -> Iterable[str]:
        if not estimate.complete:
            yield "This quotation is incomplete: some parts have no price yet."
        if self.rules.deposit_percent:
            share = self.rules.deposit_percent
            amount = self.money(round_money(estimate.total * share / 100))
            yield f"A deposit of {self.number(share)} %, {amount}, is asked for before work begins."

    def order(self, supplier: str) -> Shown:
        """The order at one supplier."""
        lines = [line for line in self.bought.order.lines if line.supplier == supplier]
        postage = self.bought.order.postage.get(supplier, Decimal())
        goods = sum((line.cost for line in lines), Decimal())
        return {
            "title": f"Order at {supplier}",
            "heading": "Order",
            "workshop": self.letterhead(),
            "about": [
                ("to", supplier),
                ("date", self.day(self.today)),
                ("jobs", ", ".join(job.name for job in self.bought.jobs)),
            ],
            "headings": ("part no", "item", "sold as", "pack", "packs", "price", "cost"),
            "lines": [self._order_line(line) for line in lines],
            "sums": [("goods", self.money(goods)), ("postage", self.money(postage))],
            "total": ("Total without tax", self.money(goods + postage)),
            "notes": [],
            "cautions": [],
        }

    def _order_line(self, line: Purchase) -> tuple[str, ...]:
        return (
            line.part_no,
            line.item,
            line.sold_as,
            self.number(line.pack),
            self.number(Decimal(line.packs)),
            self.money(line.price),
            self.money(line.cost),
        )

    # --------------------------------------------------------------------- the bench

    def bench(self) -> Shown:
        """Cut list, what runs in each branch, and the test sheet."""
        takeoff = self.job.takeoff
        useful = self.rules.useful_offcut_mm
        return {
            "title": f"{self.job.name}: bench sheets",
            "heading": f"{self.job.name}: bench sheets",
            "about": self._about(),
            "cautions": list(BENCH_CAUTIONS),
            "cuts": list(self._cuts()),
            "left": [
                (
                    offcut.piece,
                    f"{offcut.gauge} {offcut.colour}",
                    f"{offcut.length_mm} mm",
                    "back on the shelf" if offcut.length_mm >= useful else "scrap",
                )
                for offcut in self.bought.cut_list.offcuts
                if offcut.length_mm
            ],
            "branches": [self._branch(b) for b in (takeoff.bundles if takeoff else ()) if b.wires],
            "test-headings": _TEST_HEADINGS,
            "tests": [self._test(wire) for wire in self._wires],
            "pictures": [_picture(self.loom())] if self._stretches else [],
        }

    # ---------------------------------------------------------------------- the loom

    @cached_property
    def _stretches(self) -> tuple[Stretch, ...]:
        takeoff = self.job.takeoff
        return tuple(
            Stretch(
                start=bundle.branch.start,
                finish=bundle.branch.finish,
                length_mm=float(bundle.branch.length_mm),
                across_mm=bundle.diameter_mm,
                covering=bundle.branch.covering,
                wires=sum(wire.wire.qty for wire in bundle.wires),
            )
            for bundle in (takeoff.bundles if takeoff else ())
        )

    @property
    def has_loom(self) -> bool:
        """Whether there are branches to be drawn."""
        return bool(self._stretches)

    @cached_property
    def _sits_at(self) -> Mapping[str, list[str]]:
        """What sits at each point of the loom: components, and splices by their name."""
        book = self.job.book
        places: dict[str, list[str]] = defaultdict(list)
        for part in book.components.values() if book else ():
            places[part.at or part.name].append(part.name)
        for wire in self._wires:
            for pin, style in (
                (wire.wire.start, wire.start_end),
                (wire.wire.finish, wire.finish_end),
            ):
                if style == "splice" and "splice" not in places[pin.point]:
                    places[pin.point].append("splice")
        return places

    def loom(self) -> Picture:
        """The loom on one sheet, to scale."""
        return drawn(self.job.name, self._stretches, self._sits_at)

    def board(self) -> Shown:
        """The loom on one sheet, then at full size on pages to be pinned on a board."""
        pages = [self.loom(), *full_size(self.job.name, self._stretches, self._sits_at)]
        return {
            "title": f"{self.job.name}: loom",
            "cautions": [],
            "pictures": [_picture(page) for page in pages],
        }

    def _cuts(self) -> Iterable[Shown]:
        wires = self.bought.wires
        places = {piece.name: piece.place for piece in self.bought.stock.pieces}
        for cut in self.bought.cuts:
            wire = wires[cut.job, cut.wire]
            place = places.get(cut.piece, "")
            yield {
                "gauge": cut.gauge,
                **self.colours(cut.colour),
                "length": f"{cut.length_mm} mm",
                "wire": cut.wire,
                "circuit": wire.wire.circuit,
                "from": self._end(wire, "from end"),
                "to": self._end(wire, "to end"),
                "piece": f"{cut.piece}, {place}" if place else cut.piece,
            }

    @property
    def _wires(self) -> tuple[SizedWire, ...]:
        return self.job.sized.wires if self.job.sized else ()

    @cached_property
    def _joints(self) -> Mapping[tuple[str, str], Joint]:
        joints = self.job.ends.joints if self.job.ends else ()
        return {
            (end.wire.label, end.heading): joint
            for joint in joints
            if not joint.mate
            for end in joint.ends
        }

    @cached_property
    def _areas(self) -> Mapping[str, Any]:
        return {wire.wire.label: wire.cable.area_mm2 for wire in self._wires}

    def _end(self, wire: SizedWire, heading: str) -> Shown:
        """One end: where it sits, its terminal and cover, and how far it is stripped."""
        catalogue = self.job.workshop.catalogue
        style = wire.start_end if heading == "from end" else wire.finish_end
        at = wire.wire.start if heading == "from end" else wire.wire.finish
        joint = self._joints.get((wire.wire.label, heading))
        shown = {"at": str(at), "style": style, "terminal": "", "cover": "", "strip": ""}
        if joint is None or not joint.style.family:
            return shown
        half = "plug" if joint.style.family == BY_SLEEVE else joint.half
        terminal = catalogue.terminal(joint.style.family, half, joint.area_mm2(self._areas))
        covered = joint.style.closure == "cover"
        cover = catalogue.cover(joint.style.family, half) if covered else None
        others = [end.wire.label for end in joint.ends if end.wire.label != wire.wire.label]
        with_them = f", together with {' '.join(others)}" if others else ""
        return {
            **shown,
            "terminal": (terminal.item if terminal else "") + with_them,
            "cover": cover.item if cover else "",
            "strip": f"{joint.style.strip_mm} mm" if joint.style.strip_mm else "",
        }

    def _branch(self, bundle: Bundle) -> Shown:
        branch = bundle.branch
        slack = f" and {float(branch.slack_mm):.0f} mm slack" if branch.slack_mm else ""
        count = sum(wire.wire.qty for wire in bundle.wires)
        return {
            "name": f"{branch.start} to {branch.finish}",
            "says": f"{float(branch.length_mm):.0f} mm{slack}, {bundle.diameter_mm:.1f} mm across, "
            f"{branch.covering}, {count} {'wire' if count == 1 else 'wires'}",
            "wires": [
                {
                    "wire": wire.wire.label,
                    "gauge": wire.cable.gauge,
                    **self.colours(wire.wire.colour),
                    "from": str(wire.wire.start),
                    "to": str(wire.wire.finish),
                }
                for wire in bundle.wires
            ],
        }

    @cached_property
    def _earths(self) -> frozenset[str]:
        """The wires that lie at earth from end to end, with no switch or load behind them.

        A return is not one yet: the wire from a coil to its switch, or a charging wire, is live.
        """
        arriving: dict[Pin, list[SizedWire]] = defaultdict(list)
        waiting: list[SizedWire] = []
        for wire in self._wires:
            if not wire.loaded.is_return:
                continue
            if self._at_earth(wire.wire.finish) or self._earth_point(wire.wire.start):
                waiting.append(wire)
            elif wire.wire.finish.pin or _is_joint(wire.wire.finish.point, wire.finish_end):
                arriving[wire.wire.finish].append(wire)
        found: set[str] = set()
        while waiting:
            wire = waiting.pop()
            found.add(wire.wire.label)
            waiting += arriving.pop(wire.wire.start, ())
        return frozenset(found)

    def _at_earth(self, pin: Pin) -> bool:
        """Whether a pin is named as an earth; of a battery, its pole on the earth side alone."""
        if not is_battery(pin.point):
            return is_earth(pin)
        words = f"{pin.point} {pin.pin}"
        return self.job.net is not None and self.job.net.is_earth_pin(Pin(pin.point, words))

    def _earth_point(self, pin: Pin) -> bool:
        return not is_battery(pin.point) and is_earth(Pin(pin.point))

    def _test(self, wire: SizedWire) -> Shown:
        fuse = wire.fuse_amps
        return {
            "wire": wire.wire.label,
            "from": str(wire.wire.start),
            "to": str(wire.wire.finish),
            "is-earth": wire.wire.label in self._earths,
            "fuse": "" if fuse is None else f"{plain(Decimal(str(float(fuse))))} A",
            "amps": f"{float(wire.loaded.amps):.2f} A" if wire.loaded.amps else "",
        }

    # -------------------------------------------------------------------- the labels

    def labels(self) -> Shown:
        """Two labels a wire, one for each end."""
        rules = self.rules
        return {
            "title": f"{self.job.name}: wire labels",
            "cautions": [],
            "columns": rules.label_columns,
            "rows": rules.label_rows,
            "margin": float(rules.label_margin_mm),
            "gap": float(rules.label_gap_mm),
            "labels": [
                {
                    "wire": wire.wire.label,
                    "circuit": wire.wire.circuit,
                    "ends": f"{wire.wire.start} → {wire.wire.finish}",
                }
                for wire in self._wires
                for _ in range(2 * wire.wire.qty)
            ],
        }
