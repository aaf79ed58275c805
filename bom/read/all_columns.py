"""Every column of every book of the workshop, by its sheet.

New books are made from them, books are read by them, and what is written into a book of the
owner's goes under them: a column stands in one place.
"""

from bom.files.headings import Column
from bom.read.job_columns import job_columns
from bom.read.prices import price_columns
from bom.read.register import register_columns
from bom.read.stock import stock_columns
from bom.trade.catalogue import Catalogue


def all_columns(catalogue: Catalogue) -> dict[str, tuple[Column, ...]]:
    """The columns of job books, stock book, price list, suppliers' list and register, by sheet."""
    bought = (*stock_columns(catalogue), *price_columns(catalogue))
    return dict((*job_columns(catalogue), *bought, *register_columns()))
