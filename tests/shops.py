"""A workshop for the tests of shelf, order and price: its books made from short rows."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from tests.books import Rows, book

PLAIN = {
    "run_percent": 0,
    "end_mm": 0,
    "step_mm": 1,
    "cable_spare_percent": 0,
    "terminal_spare_percent": 0,
    "fuse_spares": 0,
}
"""House rules under which a wire is cut to its typed length and nothing is added."""

CIRCUITS = ("wire", "colour", "gauge", "length", "from", "to", "from end", "to end")
CABLE = ("piece", "gauge", "colour", "length", "cost per m")
DRAWER = ("item", "unit", "on hand", "low", "full", "cost")
PRICES = ("supplier", "item", "gauge", "colour", "sold as", "pack", "price", "from qty")
SUPPLIERS = ("supplier", "postage", "free over", "minimum order", "prices include tax")
EXTRAS = ("item", "qty", "unit", "price")
RING = "ring terminal, M6, 0.5-1.5 mm2"
TUBE = "PVC tube, 3 mm bore"


def offers(told: str, colour: str | None = None) -> list[Any]:
    """Price rows: `A cable 0.40 metre; B ring 1.10 pack 10`, from three packs on `... from 3`.

    Cable is 1.0 mm2, in every plain colour or in one; other words than ring and tube are items.
    """
    items = {"cable": ("cable", "1.0"), "ring": (RING, None), "tube": (TUBE, None)}
    rows = []
    for supplier, name, price, sold, *more in (row.split() for row in told.split("; ") if row):
        pack, _, least = " ".join(more).partition("from ")
        item, gauge = items.get(name, (name, None))
        cells = (supplier, item, gauge, colour, sold, pack.strip() or None, price, least or None)
        rows.append(cells)
    return rows


def job(
    shop: Path,
    wires: Rows,
    name: str = "job",
    rules: Mapping[str, Any] | None = None,
    **sheets: Any,
) -> Path:
    """A job in the workshop; wires are (label, colour, gauge, length in m), with bare ends."""
    circuits = [
        (label, colour, gauge, length, f"from {label}", f"to {label}", "bare", "bare")
        for label, colour, gauge, length in wires
    ]
    figures = {"job": name, **PLAIN, **(rules or {})}
    sheets = {
        title: [EXTRAS, *rows] if title == "Extras" else rows for title, rows in sheets.items()
    }
    return book(
        shop / "jobs",
        f"{name}.xlsx",
        Job=[("item", "value"), *figures.items()],
        Circuits=[CIRCUITS, *circuits],
        **sheets,
    )


def workshop(
    folder: Path,
    cable: Sequence[Any] = (),
    drawer: Sequence[Any] = (),
    prices: Sequence[Any] = (),
    suppliers: Sequence[Any] = (),
) -> Path:
    """A workshop's folder with its shelf and its price lists."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "workshop.toml").write_text("tax_percent = 20\n")
    book(folder, "stock.xlsx", Cable=[CABLE, *cable], Drawer=[DRAWER, *drawer])
    book(folder, "prices.xlsx", Prices=[PRICES, *prices])
    book(folder, "suppliers.xlsx", Suppliers=[SUPPLIERS, *suppliers])
    return folder
