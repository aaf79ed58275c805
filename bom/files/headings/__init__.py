"""From a grid of cells to rows under known headings, with every fault named by its cell.

A sheet is described by its columns: the heading, its other names, the units a heading
may carry, and the reader of one cell.  `columns` knows headings, `layout` finds the list
in the sheet, `records` reads its rows.
"""

from bom.files.headings.columns import (
    NO_OWN_WORDS,
    NOT_READ,
    Column,
    KnownHeadings,
    NewHead,
    OwnWords,
    as_shown,
    by,
    folded,
    own_words,
    text,
    words,
)
from bom.files.headings.layout import TakenFor, has_headings, listing, taken_for
from bom.files.headings.not_rows import without_notes
from bom.files.headings.records import Record, read_rows

__all__ = [
    "NOT_READ",
    "NO_OWN_WORDS",
    "Column",
    "KnownHeadings",
    "NewHead",
    "OwnWords",
    "Record",
    "TakenFor",
    "as_shown",
    "by",
    "folded",
    "has_headings",
    "listing",
    "own_words",
    "read_rows",
    "taken_for",
    "text",
    "without_notes",
    "words",
]
