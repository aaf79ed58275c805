"""What a workshop starts from: house rules, blank books, and one worked job.

Books are made with openpyxl, with units in the headings, a note on each of them,
drop-down lists and a page to read first.  Nothing that exists is ever overwritten.
"""

import os
from collections.abc import Callable, Iterable, Mapping, Sequence
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from bom.files.headings import Column, NewHead
from bom.files.names import is_device
from bom.files.safely import ABSENT, NewFile
from bom.files.sheet.package import new_zip
from bom.files.table import fit_for_a_cell
from bom.files.together import put_all
from bom.read.all_columns import all_columns
from bom.read.books import SUFFIXES
from bom.read.job_columns import SHEETS
from bom.read.stock import stock_columns
from bom.read.which_sheet import NAMES
from bom.trade.catalogue import Catalogue
from bom.trade.figures import DUTIES
from bom.trade.house import RULES, workshop_toml
from bom.workshop import example

if TYPE_CHECKING:
    from openpyxl.styles import Alignment
    from openpyxl.workbook import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

BLANK_ROWS = 200
"""Rows of a new sheet that the drop-down lists reach."""


class Exists(Exception):
    """Something is there already, and is left as it is."""

    def __init__(self, path: Path) -> None:
        here = Path.cwd()
        near = path.relative_to(here) if path.is_relative_to(here) else path
        super().__init__(f"{near} is there already and is left as it is")
        self.path = path


CellsByColumn = Mapping[str, Sequence[Mapping[str, Any]]]
"""Rows of a new book: by sheet, each cell by the name of its column."""

READ_ME = {
    "job": (
        "How to fill in this job book",
        "1. Job: customer and machine; any house rule for this job alone, by its key.",
        "2. Circuits: one row a wire, from the supply to the load, and from the load to earth.",
        "3. A pin follows a colon (tail lamp:earth): wires at one pin share its terminal.",
        "4. Loom: one row a branch, measured on the machine with the tape.",
        "5. Components: where each thing sits, its load, and which pins feed which.",
        "6. Leave blank what is to be worked out: gauge, load, length, fuse rating.",
        "7. Places, Fuses, Extras and Labour only where you have something to say.",
        "8. Rows shaded grey, if any, are an invented example: look at them, then delete them.",
        "9. Save, then type: bom check and the name of this book.",
        "Disconnect the battery first; test every wire before first power; local rules come first.",
    ),
    "stock": (
        "How to keep this stock book",
        "1. Cable: one row a reel or offcut, each with a name of its own.",
        "2. Drawer: terminals, covers, fuses by the piece; tape, tube and braid by the metre.",
        "3. Items go by their names in the catalogues: pick them from the list.",
        "4. low: under this the item is bought again; full: up to this.",
        "5. cost is what you paid without tax; the quote uses it for what comes off the shelf.",
        "6. Orders: what was ordered, by number, and what came of it; any cell may be put right.",
        "7. Moves is written by the program: leave it as it is.",
        "8. Columns, sheets and colours of your own are welcome.",
        "9. Rows shaded grey, if any, are an invented example: look at them, then delete them.",
        "10. bom stock show prints the shelf, bom stock orders what comes, bom topup what is low.",
    ),
    "prices": (
        "How to fill in this price list",
        "1. One row for each thing a supplier sells you, and in each pack it comes in.",
        "2. supplier: the same name as in suppliers.xlsx.",
        "3. Cable: the word cable under item, its gauge and colour; colour blank: every plain one.",
        "4. All else: its name in the catalogues; pick it from the list under item.",
        "5. sold as: metre (cut to order), reel, pack or each; pack: metres on it, or how many.",
        "6. price: of one metre, reel, pack or piece; with tax where suppliers.xlsx says so.",
        "7. from qty: a cheaper price from so many packs on is a row of its own.",
        "8. A whole list from a supplier need not be typed: bom prices add FILE --supplier NAME.",
        "9. Rows shaded grey are an invented example: look at them, then delete them.",
        "10. bom order with the name of a job says what to buy, from whom, for the least money.",
    ),
    "suppliers": (
        "How to fill in this list of suppliers",
        "1. One row for each supplier on your price lists, under the same name.",
        "2. postage: of one order; blank: none.",
        "3. free over: from this value on no postage is charged; blank: always charged.",
        "4. minimum order: they take no smaller one; blank: any.",
        "5. prices include tax: yes or no; postage and limits are then read the same way.",
        "6. Rows shaded grey are an invented example: look at them, then delete them.",
    ),
    "register": (
        "How to keep this register of quotations",
        "1. Register: one row a quotation given; bom quote JOB --give puts it under the list.",
        "2. What was given lies in the folder given, under the number: paper, job book, figures.",
        "3. accepted, deposit, billed and paid are yours to fill in; bom jobs reckons with them.",
        "4. accepted: the day when the customer said yes; no, where it was declined.",
        "5. deposit: what came in before work began, with tax.",
        "6. billed: the amount with tax, or the day if it was billed as it was quoted.",
        "7. paid: what was paid beside the deposit, or the day if that was the rest.",
        "8. materials at cost and hours are the plan's, of the day when it was given.",
        "9. Columns, sheets and colours of your own are welcome.",
    ),
    "used": (
        "What the job really used",
        "1. Used: what is in the loom, as planned until you put it right; spoilt: thrown away.",
        "2. Nobody measured it? Empty its 'used': it is neither booked nor learned from.",
        "3. Lengths are in metres; 1600 mm, 160 cm or 63 in may be typed as well.",
        "4. Something that was not planned: a row of its own, with kind, item, unit and used.",
        "5. Labour: the hours of each task, or the hours of them all in the row 'all together'.",
        "6. Wires: each wire as made, and what was measured; move another cable on Used as well.",
        "7. Tests: what the test sheet asks for, and what was found; bom record prints it all.",
        "8. Grey cells are the plan's: leave them, the allowances are reckoned from them.",
        "9. Save, then type: bom done and the name of the job.",
    ),
}


def new_workshop(folder: Path, catalogue: Catalogue) -> tuple[Path, ...]:
    """Make a workshop's files, all or none, and return their paths, in order.

    Raises `Exists` for the first of them that is there already, before anything is written.
    """
    rows = example.ROWS
    stock = tuple(dict(stock_columns(catalogue)))
    books: dict[Path, Callable[[], Workbook]] = {
        folder / "stock.xlsx": lambda: _book(stock, rows, catalogue, "stock"),
        folder / "prices.xlsx": lambda: _book(("Prices",), rows, catalogue, "prices"),
        folder / "suppliers.xlsx": lambda: _book(("Suppliers",), rows, catalogue, "suppliers"),
        folder / "jobs" / "example.xlsx": lambda: _book(SHEETS, rows, catalogue, "job"),
    }
    rules = folder / "workshop.toml"
    _refuse_files(folder, folder / "jobs")
    if os.path.lexists(rules):
        raise Exists(rules)
    for path in books:
        _refuse_kinds(path.parent, path.stem)
    texts = {rules: workshop_toml(folder.resolve().name).encode()}
    put_new_files(texts | {path: _bytes(make()) for path, make in books.items()})
    return (rules, *books)


def new_job(folder: Path, name: str, catalogue: Catalogue) -> Path:
    """Make a blank job book `jobs/NAME.xlsx` in a workshop folder.

    Raises `Exists` where a job of that name is kept already, in whichever kind of file,
    and `ValueError` for a name with nothing in it, or with a folder in it.
    """
    path = place_for(folder, name, ".xlsx")
    first = ({"item": "job", "value": job_name(name)}, {"item": "customer"}, {"item": "machine"})
    put_new_files({path: _bytes(_book(SHEETS, {"Job": first}, catalogue, "job"))})
    return path


def new_prices(folder: Path, catalogue: Catalogue) -> Path:
    """Make a blank price list in a workshop folder; raises `Exists` where there is one."""
    path = folder / "prices.xlsx"
    _refuse_kinds(folder, path.stem)
    put_new_files({path: _bytes(_book(("Prices",), {}, catalogue, "prices"))})
    return path


def blank_register(catalogue: Catalogue) -> bytes:
    """A register of quotations without a row."""
    return _bytes(_book(("Register",), {}, catalogue, "register"))


def job_name(typed: str) -> str:
    """A job's name as typed, without the ending of a book's file.

    >>> job_name("old-twin.xlsx"), job_name("R80.5")
    ('old-twin', 'R80.5')
    """
    name = typed.strip()
    ending = next((kind for kind in SUFFIXES if kind and name.casefold().endswith(kind)), "")
    name = name.removesuffix(name[len(name) - len(ending) :]) if ending else name
    if not name.strip(" ."):
        raise ValueError("a job needs a name")
    odd = sorted({letter for letter in name if letter in '/\\:*?"<>|' or ord(letter) < 32})
    if odd:
        raise ValueError(f"a job's name is that of a file and cannot have {' '.join(odd)} in it")
    if is_device(name):
        raise ValueError(f"Windows has no file named '{name}'; try: loom {name}")
    return name


def place_for(folder: Path, name: str, kind: str) -> Path:
    """Where the book of a new job goes in a workshop; raises as `new_job`."""
    path = folder / "jobs" / f"{job_name(name)}{kind}"
    _refuse_files(path.parent)
    _refuse_kinds(path.parent, job_name(name))
    return path


def used_sheet(path: Path, columns: Mapping[str, Sequence[Column]], rows: CellsByColumn) -> None:
    """Make the sheet of what a job used, of these sheets with the rows of the plan.

    Raises `Exists` where there is one already, or a file stands where its folder belongs.
    """
    _refuse_files(path.parent)
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.worksheets[0])
    _read_me(book, READ_ME["used"])
    for name, made in columns.items():
        sheet = book.create_sheet(name)
        _headings(sheet, _new(made))
        _fill(sheet, _new(made), rows[name], shaded=False)
        _page(sheet)
    put_new_files({path: _bytes(book)})


def _refuse_files(*folders: Path) -> None:
    for folder in folders:
        if os.path.lexists(folder) and not folder.is_dir():
            raise Exists(folder)


def _refuse_kinds(folder: Path, name: str) -> None:
    """Raise for a book that is there in any kind: a new `.xlsx` would be read in its place."""
    for kind in SUFFIXES:
        other = folder / f"{name}{kind}"
        # A folder of the owner's own, with pictures say, is in nobody's way.
        if os.path.lexists(other) if kind else os.path.isdir(other) and any(other.glob("*.csv")):
            raise Exists(other)


def put_new_files(texts: Mapping[Path, bytes]) -> None:
    """Put them there, all or none, with their folders: what is there already is never replaced."""
    files = [NewFile(path=path, data=data, seen=ABSENT) for path, data in texts.items()]
    try:
        put_all(files, folders=True)
    except FileExistsError as fault:
        raise Exists(Path(fault.filename)) from fault


def _bytes(book: "Workbook") -> bytes:
    from openpyxl.writer.excel import ExcelWriter

    stream = BytesIO()
    ExcelWriter(book, new_zip(stream)).save()
    return stream.getvalue()


# --------------------------------------------------------------------------------- books


Head: TypeAlias = tuple[Column, NewHead]
"""A column, and how it stands in a new book."""


def _new(columns: Iterable[Column]) -> list[Head]:
    return [(column, column.new) for column in columns if column.new]


def _book(
    names: Sequence[str], rows: CellsByColumn, catalogue: Catalogue, read_me: str
) -> "Workbook":
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.worksheets[0])
    _read_me(book, READ_ME[read_me])
    columns = all_columns(catalogue)
    sheets = {name: _new(columns[name]) for name in names}
    lists = _lists(catalogue)
    used = {new.choices for heads in sheets.values() for _, new in heads if new.choices}
    places = {name: index for index, name in enumerate(sorted(used), start=1)}
    for name, heads in sheets.items():
        sheet = book.create_sheet(name)
        _headings(sheet, heads)
        _offer(sheet, heads, places, lists)
        _fill(sheet, heads, rows.get(name, ()), shaded=rows is example.ROWS)
        _page(sheet)
    _list_sheet(book, places, lists)
    return book


def _read_me(book: "Workbook", lines: Sequence[str]) -> None:
    from openpyxl.styles import Alignment, Font

    sheet = book.create_sheet("Read me")
    sheet.column_dimensions["A"].width = 96
    for number, line in enumerate(lines, start=1):
        cell = sheet.cell(number, 1, line)
        cell.alignment = Alignment(wrap_text=True, vertical="center")
        cell.font = Font(name=_FONT, bold=number == 1, size=14 if number == 1 else 11)
        sheet.row_dimensions[number].height = 30 if number == 1 else 18
    sheet.sheet_view.showGridLines = False
    _margins(sheet)


def _headings(sheet: "Worksheet", heads: Sequence[Head]) -> None:
    from openpyxl.comments import Comment
    from openpyxl.styles import Border, Font, PatternFill, Side
    from openpyxl.utils import get_column_letter

    for index, (column, new) in enumerate(heads, start=1):
        cell = sheet.cell(1, index, f"{column.name} {new.unit}".strip())
        cell.font = Font(name=_FONT, size=10, bold=True)
        cell.fill = PatternFill("solid", fgColor="E3EAEF")
        cell.border = Border(bottom=Side("thin", color="7A8B99"))
        cell.alignment = _side(new)
        cell.comment = Comment(new.note, "bom", height=60, width=260)
        sheet.column_dimensions[get_column_letter(index)].width = new.width
    sheet.row_dimensions[1].height = 18
    sheet.freeze_panes = "A2"


def _fill(
    sheet: "Worksheet", heads: Sequence[Head], rows: Sequence[Mapping[str, Any]], *, shaded: bool
) -> None:
    """Rows, example rows in grey; text columns as text, so that no cell turns into a date."""
    from openpyxl.styles import Border, Font, PatternFill, Side

    font, line = Font(name=_FONT, size=10), Border(bottom=Side("thin", color="DDE3E8"))
    grey = PatternFill("solid", fgColor="F0F0F0")
    for index, (column, new) in enumerate(heads, start=1):
        side = _side(new)
        for number in range(2, max(BLANK_ROWS, len(rows)) + 2):
            filled = number - 2 < len(rows)
            value = rows[number - 2].get(column.name) if filled else None
            value = fit_for_a_cell(value) if isinstance(value, str) else value
            cell = sheet.cell(number, index, value)
            if isinstance(value, str):
                cell.data_type = "s"  # a name that begins with = is no formula
            cell.font, cell.alignment = font, side
            cell.number_format = _number_format(new, value)
            if filled:
                cell.border = line
            if filled and (shaded or new.given):
                cell.fill = grey


def _side(new: NewHead) -> "Alignment":
    """Numbers stand right; words left, off the edge, or they would touch the number before."""
    from openpyxl.styles import Alignment

    if new.form in ("number", "decimals"):
        return Alignment(horizontal="right", vertical="center")
    return Alignment(horizontal="left", vertical="center", indent=1)


def _number_format(new: NewHead, value: object) -> str:
    if new.form == "code" and not isinstance(value, int | float):
        return "@"
    return _DECIMALS if new.form == "decimals" else "General"


_FONT = "Arial"
_DECIMALS = "0.00##"  # pence always, and what a metre of cable costs below them


def _page(sheet: "Worksheet") -> None:
    from openpyxl.worksheet.properties import PageSetupProperties

    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    sheet.print_title_rows = "1:1"
    _margins(sheet)


def _margins(sheet: "Worksheet") -> None:
    """A4, with the name of the sheet and the number of the page at its foot."""
    from openpyxl.worksheet.header_footer import HeaderFooterItem
    from openpyxl.worksheet.page import PageMargins

    foot = HeaderFooterItem()
    sheet.page_setup.paperSize = 9  # A4
    sheet.page_margins = PageMargins(left=0.5, right=0.5, top=0.6, bottom=0.8)
    for part, text in ((foot.left, sheet.title), (foot.right, "page &P of &N")):
        part.text, part.font, part.size = text, f"{_FONT},Regular", 8
    sheet.HeaderFooter.oddFooter = foot


# ------------------------------------------------------------------------ drop-down lists


def _lists(catalogue: Catalogue) -> dict[str, list[str]]:
    holders = dict.fromkeys(holder.holder for holder in catalogue.fuse_holders)
    return {
        "colours": [row.word for row in catalogue.colours],
        "gauges": sorted(catalogue.cables, key=lambda gauge: gauge.endswith("AWG")),
        "ends": list(catalogue.ends),
        "exposures": ["hidden", "weather", "show"],
        "coverings": list(catalogue.layers),
        "holders": list(holders),
        "runs": list(DUTIES),
        "items": list(catalogue.items),
        "sold": ["metre", "reel", "pack", "each"],
        "units": ["each", "m"],
        "answers": ["yes", "no"],
        "rules": [*NAMES, "accept", *RULES],
    }


def _offer(
    sheet: "Worksheet", heads: Sequence[Head], columns: dict[str, int], lists: dict[str, list[str]]
) -> None:
    """Drop-down lists that offer and do not forbid: a body and a trace may be typed."""
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.datavalidation import DataValidation

    for index, (_, new) in enumerate(heads, start=1):
        if not new.choices:
            continue
        letter = get_column_letter(columns[new.choices])
        formula = f"Lists!${letter}$1:${letter}${len(lists[new.choices])}"
        offer = DataValidation(type="list", formula1=formula, allow_blank=True)
        offer.showErrorMessage = False
        here = get_column_letter(index)
        offer.add(f"{here}2:{here}{BLANK_ROWS + 1}")
        sheet.add_data_validation(offer)


def _list_sheet(book: "Workbook", columns: dict[str, int], lists: dict[str, list[str]]) -> None:
    sheet = book.create_sheet("Lists")
    sheet.sheet_state = "hidden"
    for name, index in columns.items():
        for number, word in enumerate(lists[name], start=1):
            sheet.cell(number, index, fit_for_a_cell(word))
