"""What `bom colours` prints: wires with their colours, what these come to, and the exceptions."""

from decimal import Decimal

from bom.files.spelling import plain
from bom.files.table import Heading, Table
from bom.trade.problem import counted, listed
from bom.workshop.colour_reasons import Exceptional, Given, Reasons


def colour_tables(found: Reasons) -> tuple[Table, ...]:
    """The wires that get another colour, then circuits that are not as usual or dear."""
    told = found.exceptions
    in_two = [each for each in told if each.typed]
    unlike = [each for each in told if each.why and not each.typed]
    worth = found.question.line_worth  # of less nobody makes a wire unusual
    dear = [each for each in told if not each.why and each.costs >= worth]
    exceptions = (
        _unlike("in another colour than the rest of them", "the rest", in_two),
        _unlike("not in their usual colour", "usual", unlike),
        _dear(dear),
    )
    return (colour_listing(found), *(table for table in exceptions if table.rows))


def colour_listing(found: Reasons) -> Table:
    """A row for each wire that gets another colour than its row says."""
    given = found.given
    return Table.of(
        f"{found.proposal.was.name}: colours for {counted(len(given), 'wire')}",
        given,
        Heading("wire", lambda one: one.entry.wire.label),
        Heading("circuit", lambda one: one.entry.wire.circuit, wide=24),
        Heading("gauge", lambda one: one.entry.cable.gauge, "quantity", gives_way=1),
        Heading("now", _now, shown=any(map(_now, given)), wide=18),
        Heading("colour", lambda one: str(one.colour), wide=18),
        Heading("why", lambda one: one.why, wide=36),
        notes=(_others_keep(found), *_comes_to(found), _proof(found), _regauged(found)),
    )


def _now(one: Given) -> str:
    return str(one.was or "")


def _comes_to(found: Reasons) -> list[str]:
    """What of all wires comes from the shelf, and what has to be bought."""
    lines, shelf = found.bought_mm, Decimal(found.shelf_mm) / 1000
    told = [f"from the shelf: {shelf:.2f} m"] if found.shelf_mm else []
    if not lines:
        return [*told, "no cable has to be bought"]
    metres = Decimal(sum(lines.values())) / 1000
    says = f"to buy: {counted(len(lines), 'line')} of cable, {metres:.2f} m of pieces"
    if found.question.priced:
        currency = found.proposal.was.rules.currency
        far = "so far" if found.unsold else "about"
        says += f", {far} {currency} {found.money:.2f} by length"
        if found.unsold:
            told.append(f"neither sold nor on the shelf: {listed(found.unsold)}")
        told += [says, "postage and how the pieces go on reels: bom order"]
        return told
    return [*told, f"{says}; there are no price lists, so that the fewest lines were sought"]


def _others_keep(found: Reasons) -> str:
    count = sum(map(len, found.of_part.values())) - len(found.given)
    keep = "keeps its colour" if count == 1 else "keep their colours"
    return f"{counted(count, 'other wire')} {keep}" if count else ""


def _proof(found: Reasons) -> str:
    """Whether that is the least, or how much less it may be."""
    if found.proposal.regauged:
        return "not proved: gauges go by the colours too"
    levels = found.answer.levels
    if found.answer.proved:
        return "proved: none has more usual colours, then more from the shelf, then costs less"
    seconds = plain(found.proposal.was.rules.order_seconds)
    cost = levels["cost"]
    if all(level.proved for name, level in levels.items() if name != "cost"):
        most = Decimal(str(cost.value - cost.bound))
        return f"not proved to cost least in {seconds} s (order_seconds): {most:.2f} less at most"
    return f"not proved in {seconds} s (order_seconds); more may find better ones"


def _regauged(found: Reasons) -> str:
    """Two lines of one colour may become one."""
    others = found.proposal.regauged
    return f"of another gauge than the colours were sought with: {listed(others)}" if others else ""


def _unlike(title: str, own: str, unlike: list[Exceptional]) -> Table:
    return Table.of(
        title,
        unlike,
        Heading("circuit", lambda one: one.circuit, wide=24),
        Heading(own, lambda one: str(one.usual), wide=18),
        Heading("colour", lambda one: str(one.colour), wide=18),
        Heading("why", lambda one: one.why, wide=36),
        Heading("costs more", _costs, "money", shown=any(map(_costs, unlike))),
    )


def _dear(dear: list[Exceptional]) -> Table:
    return Table.of(
        "what a usual colour costs more than another that is free, each by itself",
        dear,
        Heading("circuit", lambda one: one.circuit, wide=24),
        Heading("usual", lambda one: str(one.usual), wide=18),
        Heading("instead", lambda one: str(one.colour), wide=18),
        Heading("costs more", _costs, "money"),
    )


def _costs(one: Exceptional) -> Decimal | None:
    return one.costs if one.costs > 0 else None
