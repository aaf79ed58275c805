"""The words for what covers a branch, as `catalogs/layers.csv` has them: one row a layer."""

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction

from msgspec.structs import replace

from bom.trade.catalogue_rows import ALONG, HELIX, Layer
from bom.trade.needs import KINDS, LABOUR
from bom.trade.problem import Problem, Where, error, nearest

AIR_GAP = "air gap"
"""What holds back heat under a layer that lies loose: `figures.air_gap_k_m_per_w`."""
_OF_A_LAYER = ("length", "waste_percent", "group", "labour", "heat", "ends")
_MUST = ("length", "group", "labour")
_TAKEN = (*KINDS, "run", LABOUR)

Tables = Mapping[str, Sequence[Mapping[str, str]]]


def read_layer(row: Mapping[str, str]) -> Layer:
    """A row as a type; ValueError or ArithmeticError where a figure is none."""
    return Layer(
        covering=row["covering"],
        inside=_inside(row),
        length=row["length"],
        waste_percent=Decimal(row["waste_percent"]) if row["waste_percent"] else None,
        group=row["group"],
        labour=row["labour"],
        heat_k_m_per_w=None if row["heat"] == AIR_GAP else float(row["heat"] or 0),
        ends=row["ends"],
        look=row["look"],
        dashes=" ".join(f"{float(Fraction(part)):g}" for part in row["dashes"].split()),
        core=float(row["core"] or 0),
    )


def _inside(row: Mapping[str, str]) -> tuple[str, ...]:
    return tuple(filter(None, map(str.strip, row["inside"].split("|"))))


def layer_faults(row: Mapping[str, str], tables: Tables, first: Where) -> Iterator[Problem]:
    """What a row says that no other table knows; `first` is its first cell."""

    def at(column: str) -> Where:
        letter = chr(ord("A") + list(row).index(column))
        return replace(first, cell=letter + first.cell[1:])

    covering = row["covering"]
    goods = [each for each in tables["coverings"] if each["covering"] == covering]
    is_layer = bool(goods) or any(row[column] for column in _OF_A_LAYER)
    for column, known in _known(tables).items():
        for word in _inside(row) if column == "inside" else (row[column],):
            if word not in known and (word or (is_layer and column in _MUST)):
                cure = nearest(word, known) or ", ".join(known)
                yield error(at(column), f"{column} '{word}' is not known", cure)
    if is_layer and covering in _TAKEN:
        yield error(at("covering"), f"'{covering}' is a kind of other goods", "another word")
    size = "width_mm" if row["length"] == HELIX else "bore_mm"
    if is_layer and not any(each[size] for each in goods):
        says = f"no row of coverings.csv is of '{covering}' and has a {size}"
        yield error(at("covering"), says, "a row for each size that can be had")


def _known(tables: Tables) -> Mapping[str, Sequence[str]]:
    """The words that may stand in each column; a layer inside stands in a row above."""
    return {
        "inside": [row["covering"] for row in tables["layers"] if row["length"]],
        "length": [HELIX, ALONG],
        "group": list(dict.fromkeys(KINDS.values())),
        "labour": [row["operation"] for row in tables["labour"] if row["per"] == "metre"],
        "ends": list(dict.fromkeys(row["kind"] for row in tables["shrink"])),
    }
