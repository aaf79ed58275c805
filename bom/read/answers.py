"""The owner's answers about doubtful rows of suppliers' lists, as `answers.csv` keeps them."""

from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path
from typing import Literal, TypeAlias

from msgspec import Struct

from bom.files.headings import Column, Record, listing, read_rows, text
from bom.files.sheet import read_book
from bom.files.spelling import Misspelt, fold, one_word_of, quantity
from bom.read.matching import as_goods
from bom.trade.catalogue import Catalogue
from bom.trade.placed import SOLD_AS
from bom.trade.problem import Problem, error, nearest
from bom.trade.rows import Listing, Row

ANSWERS = "answers.csv"

Answer: TypeAlias = Literal["yes", "no", ""]


class Kept(Struct, frozen=True, kw_only=True):
    """A doubtful row and what the owner said of it, '' where nothing is said yet."""

    supplier: str
    part_no: str
    words: str
    ours: str
    sold_as: str
    pack: str
    answer: Answer
    when: str
    row: Row | None = None
    """Where it stands; None for one that is not in the file yet."""

    def cells(self) -> Mapping[str, str]:
        """What is written of it, by heading."""
        own = (self.supplier, self.part_no, self.words, self.ours, self.sold_as, self.pack)
        return dict(zip(HEADS, (*own, self.answer, self.when), strict=True))


HEADS = (
    *("supplier", "part no", "their words", "ours", "sold as", "pack"),
    *("answer", "when"),
)
_KEPT = tuple(Column(name=name, read=text, needed=name != "when") for name in HEADS)
"""An answer is of use only as a whole, so each of its columns has to be there."""


def read_answers(path: Path, catalogue: Catalogue) -> tuple[tuple[Kept, ...], tuple[Problem, ...]]:
    """The answers given so far; a yes to what is no goods of ours is an error with its cell."""
    if not path.exists():
        return (), ()
    book, problems = read_book(path, single="answers")
    if book is None or not book.sheets or not book.sheets[0].rows:
        return (), problems
    records, faults = read_rows(book.sheets[0], _KEPT, own_columns=True)
    found = [*problems, *faults]
    kept = [one for record in records if (one := _answer(record, catalogue, found))]
    return tuple(kept), tuple(found)


def answers_place(path: Path) -> Listing | None:
    """Where the answers stand in the owner's file."""
    book, _ = read_book(path, single="answers")
    return listing(book.sheets[0], _KEPT) if book and book.sheets else None


def _answer(record: Record, catalogue: Catalogue, problems: list[Problem]) -> Kept | None:
    said = fold(record["answer"])
    if said not in ("yes", "no", ""):
        says = f"answer '{record['answer']}' is neither yes nor no"
        problems.append(error(record.row.where("answer"), says, "yes, no, or nothing"))
        return None
    sold = _sold(record, problems) if said == "yes" else None
    if said == "yes" and as_goods(record["ours"], catalogue) is None:
        says = f"'{record['ours']}' is no item of the catalogues"
        close = nearest(record["ours"], catalogue.items)
        problems.append(error(record.row.where("ours"), says, close))
    return Kept(
        supplier=record["supplier"],
        part_no=record["part no"],
        words=record["their words"],
        ours=record["ours"],
        sold_as=sold[0] if sold else record["sold as"],
        pack=record["pack"],
        answer=_ANSWERS[said],
        when=record["when"],
        row=record.row,
    )


_ANSWERS: Mapping[str, Answer] = {"yes": "yes", "no": "no", "": ""}


def _sold(record: Record, problems: list[Problem]) -> tuple[str, Decimal]:
    """What a yes says of the pack; faults are told with their cells."""
    try:
        sold_as = one_word_of(record["sold as"] or "each", SOLD_AS, "sold as")
    except Misspelt as fault:
        problems.append(error(record.row.where("sold as"), fault.says, fault.cure))
        sold_as = "each"
    try:
        return sold_as, quantity(record["pack"] or "1")
    except Misspelt as fault:
        problems.append(error(record.row.where("pack"), fault.says, fault.cure))
        return sold_as, Decimal(1)
