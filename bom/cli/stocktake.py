"""The shelf counted: the sheet to walk along it with."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bom.cli.booking import stock_app
from bom.cli.jobs import buy
from bom.cli.progress import working
from bom.cli.show import Csv, Json, Show, Xlsx, emit
from bom.cli.stock import with_words
from bom.cli.tell import writing
from bom.files import clock
from bom.trade.problem import has_errors

if TYPE_CHECKING:
    from bom.estimate import Bought
    from bom.show.count_sheet import CountLine

_COUNT = "bom stock count ITEM NUMBER for what is not as the book says, or type it in the book"


@stock_app.command("sheet", epilog="Example: bom stock sheet --pdf count.pdf")
def stock_sheet(
    words: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[WORD...]", help="Only what has these words, as bom stock show finds it."
        ),
    ] = None,
    pdf: Annotated[
        Path | None, typer.Option("--pdf", metavar="FILE", help="Write the sheet to this .pdf.")
    ] = None,
    json: Json = False,
    xlsx: Xlsx = None,
    csv: Csv = None,
) -> None:
    """Print a sheet to count the shelf on: by place, what is low first, a box for each.

    Files for a spreadsheet have a blank column for what is counted.  What is not as the book says
    goes into the book by bom stock count, or by hand: then bom stock show takes it over.
    """
    from bom.show.count_sheet import count_lines, count_out, count_table
    from bom.show.shelf_found import everything
    from bom.workshop.shelf_requests import shelf_shown

    bought = buy([])
    shelf, by_hand = shelf_shown(bought.stock)
    problems = (*bought.problems, *by_hand)
    shown = everything(shelf)
    if words and not has_errors(problems):
        shown = with_words(words, shown, problems)
    lines = count_lines(shelf, shown)
    show = Show(
        problems,
        lambda: count_out(lines, problems),
        lambda: (count_table(lines, to_fill=bool(xlsx or csv)),),
        next_step=_COUNT if pdf or xlsx or csv else "bom stock sheet --pdf FILE, to print it",
        first=bought.lacking,
        files=_printed(lines, bought, words or [], pdf),
    )
    emit(show, json, xlsx, csv)


def _printed(
    lines: "list[CountLine]", bought: "Bought", words: list[str], path: Path | None
) -> dict[Path, bytes]:
    from bom.show.papers import count_paper

    if path is None or has_errors(bought.problems):
        return {}
    with writing(path), working("setting the sheet"):
        return {path: count_paper(lines, bought, words, clock.today())}
