"""Machines of thousands of lamps, each fed or earthed from the one before it."""

import csv
from collections.abc import Sequence
from pathlib import Path

KINDS = ("feeds", "both", "earths", "splices", "typed", "one branch")
"""What is chained: the feeds, the earths too, the earths alone, feeds through splices, feeds with
the load typed on each row; or nothing, and all lie in one branch of the loom."""
_MINUS = "battery:-"


def chain(kind: str, lamps: int, folder: Path) -> Path:
    """A job of so many lamps as a folder of .csv, and its path."""
    rows = _Rows(kind)
    for n in range(1, lamps + 1):
        rows.lamp(n)
    if kind not in ("both", "earths"):
        rows.wire("frame earth:0", _MINUS, "black")
    job = folder / f"{kind} {lamps}"
    job.mkdir(parents=True)
    parts = [(f"lamp {n}", _load(kind, n), "tail") for n in range(1, lamps + 1)]
    _write(job / "Components.csv", [("component", "load", "at"), *parts, *rows.others])
    heads = ("wire", "circuit", "from", "to", "colour", "load", "fuse", "length")
    _write(job / "Circuits.csv", [heads, *rows.wires])
    if kind == "one branch":
        _write(job / "Loom.csv", [("from", "to", "length"), ("box", "tail", "1.5 m")])
    return job


class _Rows:
    """The rows of Circuits, lamp by lamp."""

    def __init__(self, kind: str) -> None:
        self.kind = kind
        self.wires: list[tuple[str, ...]] = []
        self.others = [("battery", "", "box"), ("fuse box", "", "box"), ("frame earth", "", "box")]

    def wire(self, start: str, finish: str, colour: str, load: str = "", fuse: str = "") -> None:
        """One more row."""
        length = "" if self.kind == "one branch" else "0.2 m"
        circuit = "earth" if colour == "black" else "lighting"
        label = str(len(self.wires) + 1)
        self.wires.append((label, circuit, start, finish, colour, load, fuse, length))

    def lamp(self, n: int) -> None:
        """The feed and the earth of a lamp."""
        kind, fuse = self.kind, "main" if n == 1 else ""
        plus = "battery:+" if n == 1 else f"lamp {n - 1}:+"
        if kind in ("feeds", "both", "typed"):
            load = "0.001 W" if kind == "typed" else ""
            self.wire(plus, f"lamp {n}:+", "red", load, fuse)
        elif kind == "splices":
            self.wire("battery:+" if n == 1 else f"splice {n - 1}", f"splice {n}", "red", fuse=fuse)
            self.wire(f"splice {n}", f"lamp {n}:+", "red")
        elif kind == "earths":
            self.wire(f"battery:{n}", f"lamp {n}:+", "red", fuse=f"f{n % 50}")
        else:
            self.wire(f"fuse box:{n}", f"lamp {n}:+", "red", fuse=f"f{n}")
        chained = _MINUS if n == 1 else f"lamp {n - 1}:earth"
        earth = chained if kind in ("both", "earths") else f"frame earth:{n}"
        self.wire(f"lamp {n}:earth", earth, "black")


def _load(kind: str, n: int) -> str:
    if kind == "one branch":
        return f"{20 + n % 5 * 9} W"
    return "" if kind == "typed" else "0.001 W"


def _write(path: Path, rows: Sequence[Sequence[str]]) -> None:
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(rows)
