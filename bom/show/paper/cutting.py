"""The cut list to pin up at the rack: reel by reel, a box to tick for each piece."""

from collections import defaultdict

from bom.estimate import Bought
from bom.show.paper import Shown, about, in_colour
from bom.show.shared import left_over
from bom.trade.needs import Cut


def cut_sheet(bought: Bought) -> Shown:
    """Each reel and offcut with what is cut from it, the longest first, and what it leaves."""
    job = bought.jobs[0]
    reels: dict[str, list[Cut]] = defaultdict(list)
    for cut in bought.cuts:
        reels[cut.piece].append(cut)
    to_come = {part.piece for part in bought.on_order}
    places = {piece.name: piece.place for piece in bought.stock.pieces}
    rests = {
        offcut.piece: f"{offcut.length_mm} mm {'left' if then != 'scrap' else then}"
        for offcut, then in left_over(bought)
    }
    return {
        "title": f"{job.name}: cut list",
        "about": [fact for fact in about(job) if fact[0] != "job"],
        "cautions": [],
        "reels": [
            {
                "piece": piece,
                "name": _named(cuts[0], places.get(piece, ""), to_come=piece in to_come),
                "gauge": cuts[0].gauge,
                **in_colour(job, cuts[0].colour),
                "rest": rests.get(piece, "none left"),
                "cuts": [_cut(bought, cut) for cut in cuts],
            }
            for piece, cuts in reels.items()
        ],
    }


def _named(cut: Cut, place: str, *, to_come: bool) -> str:
    """The piece and where it lies; a new one is named after its cable, which stands beside it."""
    if to_come:
        return f"{cut.piece}, still to come"
    if cut.new:
        return " ".join(cut.piece.replace(f"{cut.gauge} {cut.colour}", "").split())
    return f"{cut.piece}, {place}" if place else cut.piece


def _cut(bought: Bought, cut: Cut) -> Shown:
    return {
        "length": f"{cut.length_mm} mm",
        "wire": cut.wire,
        "circuit": bought.wires[cut.job, cut.wire].wire.circuit,
    }
