"""The worked example of a new workshop, as plain tables: an invented small machine.

Workshop, machine, supplier and prices are invented.
"""

from typing import Any

MARK = "example: delete"
SUPPLIER = "Example Supplies (invented)"


def _rows(columns: str, rows: list[tuple[Any, ...]]) -> list[dict[str, Any]]:
    """Rows by the names of their columns (`a, b, c`), each noted as an example."""
    names = columns.split(", ")
    return [{**dict(zip(names, row, strict=False)), "note": MARK} for row in rows]


_BEAM = ("55 W headlamp as reckoned", None, "beam")
_TUBE = [(3, 0.32), (4, 0.36), (5, 0.40), (6, 0.44), (8, 0.55), (10, 0.70)]
_CABLE = [("0.5", 0.28), ("1.0", 0.38), ("2.0", 0.62), ("3.0", 0.95)]
_PARTS = [
    ("bullet terminal, male, 0.5-1.0 mm2", 25, 2.10),
    ("bullet terminal, female, 0.5-1.0 mm2", 25, 2.40),
    ("bullet terminal, male, 1.0-2.0 mm2", 25, 2.30),
    ("bullet terminal, female, 1.0-2.0 mm2", 25, 2.60),
    ("bullet cover, male", 25, 1.20),
    ("bullet cover, female", 25, 1.30),
    ("crimp splice, 0.5-1.5 mm2", 10, 0.90),
    ("crimp splice, 1.5-2.5 mm2", 10, 1.00),
    ("ring terminal, M6, 0.5-1.5 mm2", 10, 1.10),
    ("ring terminal, M6, 1.5-2.5 mm2", 10, 1.20),
    ("ring terminal, M6, 2.5-6.0 mm2", 10, 1.40),
    ("blade terminal, 6.3 mm, female, 0.5-1.0 mm2", 25, 2.20),
    ("blade terminal, 6.3 mm, female, 2.5-6.0 mm2", 25, 2.70),
    ("blade terminal, 6.3 mm, female, 1.0-2.5 mm2", 25, 2.40),
    ("blade cover, 6.3 mm, female", 25, 1.40),
    ("crimp splice, 2.5-6.0 mm2", 10, 1.60),
]

ROWS: dict[str, list[dict[str, Any]]] = {
    "Job": [
        {"item": "job", "value": "example"},
        {"item": "customer", "value": "nobody (invented)"},
        {"item": "machine", "value": "a small single with battery lighting (invented)"},
        {"item": "hourly_rate", "value": 40},
    ],
    "Circuits": _rows(
        "wire, circuit, from, to, colour, gauge, load, fuse, one of",
        [
            ("1", "main feed", "battery:+", "ignition switch:in", "brown", "3.0", None, "main"),
            ("2", "ignition", "ignition switch:ignition", "ignition coil:+", "white", "2.0"),
            ("3", "ignition", "ignition coil:-", "contact points", "white/black", "1.0"),
            ("4", "lighting feed", "ignition switch:lights", "dip switch:in", "blue", "2.0"),
            ("5", "main beam", "dip switch:main", "headlamp:main", "blue/white", "1.0", *_BEAM),
            ("6", "dip beam", "dip switch:dip", "headlamp:dip", "blue/red", "1.0", *_BEAM),
            ("7", "tail lamp", "ignition switch:lights", "tail lamp:feed", "red", "1.0"),
            ("8", "headlamp", "headlamp:earth", "frame earth:1", "black", "1.0"),
            ("9", "tail lamp", "tail lamp:earth", "frame earth:2", "black", "1.0"),
            ("10", "earth", "frame earth:3", "battery:-", "black", "3.0"),
            ("11", "ignition", "contact points", "frame earth:4", "black", "2.0"),
        ],
    ),
    "Loom": _rows(
        "from, to, length, exposure, slack",
        [
            ("battery", "tank", 0.45),
            ("tank", "headstock", 0.50),
            ("headstock", "handlebar", 0.40, "show", 60),
            ("headstock", "headlamp shell", 0.30, None, 60),
            ("battery", "tail", 0.80, "weather"),
            ("tank", "engine", 0.35, "weather"),
        ],
    ),
    "Components": _rows(
        "component, at, load, tail, end, passes",
        [
            ("battery", None, None, 80, "ring M6"),
            ("ignition switch", "headlamp shell", None, 60, "blade socket 6.3"),
            ("ignition coil", "tank", "4 A", 100),
            ("contact points", "engine", None, 100),
            ("dip switch", "handlebar", None, 100, None, "in > main dip"),
            ("headlamp", "headlamp shell", None, 100),
            ("tail lamp", "tail", "5 W", 150),
            ("frame earth", "battery", None, 60, "ring M6"),
        ],
    ),
    "Fuses": _rows("fuse, rating, holder", [("main", None, "in-line")]),
    "Extras": _rows("item, qty, unit, price", [("cable tie, 150 mm", 10, "each", 0.05)]),
    "Labour": _rows("task, qty, hours", [("strip out the old loom", 1, 1.5)]),
    "Cable": _rows(
        "piece, gauge, colour, length, cost per m, place",
        [
            ("R1", "1.0", "black", 22.0, 0.31, "rack"),
            ("R2", "1.0", "red", 9.5, 0.31, "rack"),
            ("O1", "1.0", "blue", 1.2, 0.31, "offcut tube"),
        ],
    ),
    "Drawer": _rows(
        "item, unit, on hand, low, full, cost, place",
        [
            ("loom tape, PVC, 19 mm", "m", 33, 10, 66, 0.06, "drawer 1"),
            ("bullet cover, male", "each", 40, 20, 60, 0.05, "drawer 2"),
            ("blade fuse, 15 A", "each", 3, 2, 5, 0.15, "drawer 3"),
        ],
    ),
    "Prices": _rows(
        "supplier, item, gauge, colour, sold as, pack, price",
        [
            *[(SUPPLIER, "cable", gauge, None, "metre", 1, price) for gauge, price in _CABLE],
            (SUPPLIER, "cable", "1.0", "white/black", "metre", 1, 0.44),
            (SUPPLIER, "cable", "1.0", "blue/white", "metre", 1, 0.44),
            (SUPPLIER, "cable", "1.0", "blue/red", "metre", 1, 0.44),
            *[(SUPPLIER, item, None, None, "pack", pack, price) for item, pack, price in _PARTS],
            (SUPPLIER, "loom tape, PVC, 19 mm", None, None, "reel", 33, 1.95),
            *[
                (SUPPLIER, f"PVC tube, {bore} mm bore", None, None, "metre", 1, price)
                for bore, price in _TUBE
            ],
            *[
                (SUPPLIER, f"braided sleeving, {bore} mm bore", None, None, "metre", 1, price)
                for bore, price in ((6, 0.80), (8, 0.90), (10, 1.05), (12, 1.20), (15, 1.45))
            ],
            *[
                (SUPPLIER, f"heat-shrink, plain 2:1, {size} mm", None, None, "metre", 1, price)
                for size, price in (("9.5", 1.10), ("12.7", 1.40), ("19.1", 1.90))
            ],
            (SUPPLIER, "heat-shrink, adhesive 3:1, 3 mm", None, None, "metre", 1, 1.40),
            (SUPPLIER, "heat-shrink, adhesive 3:1, 6 mm", None, None, "metre", 1, 1.60),
            *[
                (SUPPLIER, f"blade fuse, {amps} A", None, None, "each", 1, 0.25)
                for amps in ("5", "7.5", "10", "15", "20")
            ],
            (SUPPLIER, "in-line fuse holder, blade", None, None, "each", 1, 1.80),
        ],
    ),
    "Suppliers": _rows(
        "supplier, postage, free over, minimum order, prices include tax",
        [(SUPPLIER, 3.95, 60, None, "no")],
    ),
}
