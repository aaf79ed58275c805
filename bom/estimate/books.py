"""The books of the shop as an estimate reads them: stock and prices, and what is lost of them."""

from collections.abc import Iterator, Sequence
from pathlib import Path

from msgspec.structs import replace

from bom.files.headings import NO_OWN_WORDS, Column, OwnWords
from bom.files.safely import NotWritten
from bom.job import Job, Workshop, house_rules
from bom.read.books import PRICED, find_book, missing, not_there
from bom.read.prices import EMPTY_PRICES, items_unknown, read_prices
from bom.read.stock import EMPTY_STOCK, read_stock, stock_columns
from bom.shelf.moves import history, shelf_of
from bom.shelf.stockbook.keep import copies_of, settle
from bom.trade.catalogue import Catalogue
from bom.trade.house import HouseRules
from bom.trade.orders import PriceBook
from bom.trade.problem import Problem, Where, caution, error, has_errors, in_file_order
from bom.trade.shelf import Stock


def read_shop(
    workshop: Workshop, rules: HouseRules, jobs: Sequence[Job]
) -> tuple[Stock, PriceBook, tuple[Problem, ...]]:
    """Shelf and price lists for these jobs; for none it is the shelf itself that is asked for."""
    folder, catalogue = workshop.folder, workshop.catalogue
    if folder is None:
        return EMPTY_STOCK, EMPTY_PRICES, ()
    stock_path = find_book(folder, "stock")
    stock, faults = EMPTY_STOCK, tuple[Problem, ...]()
    if stock_path:
        stock, faults = read_shelf(stock_path, catalogue, workshop.own)
    elif not jobs:  # it is the shelf that was asked for
        faults = (not_there(folder, "stock"),)
    prices, unread = _price_lists(workshop, folder, rules)
    extras = [extra.item for job in jobs if job.book for extra in job.book.extras]
    return stock, prices, (*faults, *unread, *items_unknown(stock, prices, catalogue, extras))


def price_book(workshop: Workshop) -> tuple[PriceBook, tuple[Problem, ...]]:
    """The price lists of a workshop, prices without tax."""
    rules, faults = house_rules(workshop)
    if workshop.folder is None:
        return EMPTY_PRICES, workshop.problems
    prices, unread = _price_lists(workshop, workshop.folder, rules)
    lacking = missing(workshop.folder, *PRICED)
    return prices, in_file_order((*workshop.problems, *faults, *lacking, *unread))


def _price_lists(
    workshop: Workshop, folder: Path, rules: HouseRules
) -> tuple[PriceBook, tuple[Problem, ...]]:
    prices, suppliers = find_book(folder, "prices"), find_book(folder, "suppliers")
    if prices and (problem := _unsettled(prices)):
        return EMPTY_PRICES, (problem,)
    return read_prices(prices, suppliers, rules.tax_percent, workshop.catalogue, workshop.own)


def read_shelf(
    path: Path, catalogue: Catalogue, own: OwnWords = NO_OWN_WORDS
) -> tuple[Stock, tuple[Problem, ...]]:
    """The stock book with what its moves say is set aside, for whom, and what is issued.

    A change of several .csv that a killed run left half done is finished first.
    """
    if problem := _unsettled(path):
        return EMPTY_STOCK, (problem,)
    stock, problems = stock_at(path, catalogue, own)
    shelf, more = shelf_of(stock)
    past = shelf.history
    told = replace(stock, holds=shelf.holds, issued=past.issues, over=past.over)
    return told, (*problems, *more)


def stock_at(path: Path, catalogue: Catalogue, own: OwnWords) -> tuple[Stock, tuple[Problem, ...]]:
    """The stock book as read, and told where its moves are gone that a copy of it in `.bom` has.

    Without such a copy nobody can know that there were any.
    """
    stock, problems = read_stock(path, catalogue, own)
    columns = dict(stock_columns(catalogue))
    if has_errors(problems):
        return stock, problems
    if placed := _orders_lost(stock):
        copies = _copied(path, catalogue, own, "Orders")
        gone = _orders_gone(stock, placed, next(copies, ""), columns["Orders"])
        return replace(stock, unread=(gone,)), (*problems, gone)
    if not stock.moves and (sheet := next(_copied(path, catalogue, own, "Moves"), "")):
        return stock, (*problems, _moves_gone(stock, sheet, columns["Moves"]))
    return stock, problems


def _copied(path: Path, catalogue: Catalogue, own: OwnWords, name: str) -> Iterator[str]:
    """The copies of the book in which something stands on a sheet, the last first."""
    for copy in reversed(copies_of(path)):
        before, _ = read_stock(copy, catalogue, own)
        if before.moves if name == "Moves" else before.orders:
            yield f"'{before.lists[name].sheet}' from .bom/{copy.name}"


def _orders_lost(stock: Stock) -> list[str]:
    """The numbers of the orders that by the moves were placed, where no sheet has orders."""
    place = stock.lists.get("Orders")
    if place and place.header_row:
        return []
    moves = (m for command in history(stock.moves)[0].standing for m in command.moves)
    return [move.item.removeprefix("order ") for move in moves if move.what == "order"]


def _orders_gone(
    stock: Stock, placed: Sequence[str], sheet: str, columns: Sequence[Column]
) -> Problem:
    """An error until the owner puts the orders back, or an empty list for them."""
    more = f" and {len(placed) - 1} more were" if placed[1:] else " was"
    says = f"there is no sheet Orders, and {placed[-1]}{more} placed: what is to come is not known"
    headings = ", ".join(column.name for column in columns)
    cure = f"a sheet Orders with its headings ({headings}) begins anew"
    if sheet:
        cure = f"the sheet {sheet}; or {cure}"
    return error(Where(stock.file), says, cure, cause=True)


def _moves_gone(stock: Stock, sheet: str, columns: Sequence[Column]) -> Problem:
    """An error until the owner puts the moves back, or an empty list for them by their own hand."""
    unknown = (
        "what is set aside, what came of orders, and what undo could reverse are no longer known"
    )
    place = stock.lists.get("Moves")
    if place and place.header_row:
        says = f"no moves are left here: {unknown}"
        return caution(Where(stock.file, place.sheet), says, f"the rows of {sheet}")
    says = f"there is no sheet Moves any more: {unknown}"
    headings = ", ".join(column.name for column in columns)
    cure = f"the sheet {sheet}; or a sheet Moves with its headings ({headings}) begins anew"
    return error(Where(stock.file), says, cure, cause=True)


def _unsettled(path: Path) -> Problem | None:
    """Why a change of several .csv that was cut off is not finished; None where there is none."""
    try:
        settle(path)
    except NotWritten as fault:
        return error(Where(path.name), fault.says, fault.cure)
    return None
