"""The sheet that the shelf is counted on: what the book says, and a box for what is there."""

from collections.abc import Iterable, Mapping, Sequence

from bom.files.spelling import plain
from bom.show.count_sheet import CountLine, by_place
from bom.show.paper import Shown


def counting_sheet(
    lines: Iterable[CountLine], about: Sequence[tuple[str, str]], hexes: Mapping[str, str]
) -> Shown:
    """The lines under their places; `hexes` are the colours by their words, for the stripes."""
    return {
        "title": "Count sheet",
        "about": about,
        "places": [
            {"name": place, "lines": [_line(line, hexes) for line in own]}
            for place, own in by_place(lines)
        ],
        "cautions": [],
    }


def _line(line: CountLine, hexes: Mapping[str, str]) -> Shown:
    colour = line.colour
    return {
        "words": line.words,
        "body": colour and hexes.get(colour.body, "#ffffff"),
        "trace": colour and hexes.get(colour.trace),
        "book": plain(line.in_the_book),
        "unit": line.unit,
        "held": "" if line.held is None else f"{plain(line.held)} {line.unit}",
        "low": line.is_low,
    }
