"""Tables on the way out: printed, as .xlsx and as .csv; the only room that writes them.

`headed` is the table itself: headings that know what stands under them, and rows made of things.
`cells` knows what a cell says; `printed`, `commas` and `workbook` are the three ways out.

Text is always text: in .xlsx it is written as a string, never as a formula, and in .csv what
a spreadsheet would take for a formula gets a quote in front.  Files are made in memory, to be
put in their place whole (`safely`, `together`): half a file never stands where the user looks.
"""

from bom.files.table.cells import Cell, Form, fit_for_a_cell
from bom.files.table.commas import csv_bytes, guarded
from bom.files.table.headed import FootLine, Heading, Table
from bom.files.table.printed import as_text
from bom.files.table.workbook import xlsx_bytes

__all__ = [
    "Cell",
    "FootLine",
    "Form",
    "Heading",
    "Table",
    "as_text",
    "csv_bytes",
    "fit_for_a_cell",
    "guarded",
    "xlsx_bytes",
]
