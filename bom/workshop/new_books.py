"""What a workshop starts from: house rules, blank books, and one worked job.

Books are made with openpyxl, with units in the headings, a note on each of them,
drop-down lists and a page to read first.  Nothing that exists is ever overwritten.
"""

import os
from collections.abc import Callable, Sequence
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec import Struct

from bom.files import safely
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

KINDS = (".xlsx", ".xlsm", ".ods", ".csv", "")
"""What a book may be kept as (bom.shop looks in this order); the last is a folder of .csv."""


class Exists(Exception):
    """Something is there already, and is left as it is."""

    def __init__(self, path: Path) -> None:
        here = Path.cwd()
        near = path.relative_to(here) if path.is_relative_to(here) else path
        super().__init__(f"{near} is there already and is left as it is")
        self.path = path


class Head(Struct, frozen=True):
    """A heading of a new sheet: its note, its width, and the list it offers.

    Of a `given` column the cells are the program's, and shaded grey.
    """

    name: str
    note: str
    width: int = 14
    choices: str = ""
    given: bool = False


SHEETS: dict[str, tuple[Head, ...]] = {
    "Job": (
        Head("item", "job, customer, machine, or a house rule by its key", 22, "rules"),
        Head("value", "the name, the figure or the word for it", 54),
    ),
    "Circuits": (
        Head("wire", "label; blank: W and the number of the row", 8),
        Head("circuit", "what it serves, such as dip beam", 18),
        Head("from", "point or point:pin, on the side of the supply", 25),
        Head("to", "point or point:pin, on the side of the load or the earth", 23),
        Head("colour", "body, or body/trace: blue/white, BU/WH, U/W", 14, "colours"),
        Head("gauge", "1.0 for mm2, or 18 AWG; blank: chosen", 9, "gauges"),
        Head("load", "55 W, 4.2 A, or a name such as H4 dip; blank: worked out", 27),
        Head("fuse", "the fuse it is behind, on the first wire; none: unfused on purpose", 11),
        Head("length m", "measured run; blank: worked out from the Loom sheet", 10),
        Head("from end", "end style; blank: that of the component, or of the house", 17, "ends"),
        Head("to end", "end style; blank: that of the component, or of the house", 17, "ends"),
        Head("one of", "a word for what is never on together: beam, turn:left", 11),
        Head("runs", "how long it is on; blank: by the load and the component", 10, "runs"),
        Head("qty", "identical wires; blank: 1", 6),
        Head("note", "anything you like; it is not reckoned with", 18),
    ),
    "Loom": (
        Head("from", "a point of the loom", 20),
        Head("to", "the next point", 20),
        Head("length m", "measured with the tape", 11),
        Head("exposure", "hidden, weather or show; blank: hidden", 12, "exposures"),
        Head("slack mm", "extra for steering and swinging arm", 11),
        Head("covering", "blank: as the exposure asks", 12, "coverings"),
        Head("ambient C", "air around it; blank: as everywhere (ambient_c)", 11),
        Head("doubt %", "how unsure the length is: 20 is 20 % up or down; blank: sure", 10),
        Head("note", "anything you like; it is not reckoned with", 26),
    ),
    "Components": (
        Head("component", "lamp, switch, plug, earth point ...", 22),
        Head("at", "the loom point it sits at; blank: its own name", 18),
        Head("load", "55 W, 4.2 A, or a name such as H4 dip", 28),
        Head("tail mm", "how far the wire reaches beyond the loom point", 10),
        Head("end", "end style of its wires", 18, "ends"),
        Head("passes", "which pins feed which: 30 > 87; pin to pin; none", 26),
        Head("one of", "a word for what is never on together", 12),
        Head("runs", "how long it is on; blank: by its load and its name", 10, "runs"),
        Head("ways", "of a plug or fuse box, where more are wanted than are wired", 7),
        Head("doubt %", "how unsure tail and load are: 20 is 20 % up or down; blank: sure", 10),
        Head("note", "anything you like; it is not reckoned with", 26),
    ),
    "Fuses": (
        Head("fuse", "the name used on Circuits", 16),
        Head("rating A", "blank: chosen", 10),
        Head("holder", "in-line, fuse box ...; blank: in-line", 18, "holders"),
        Head("spares", "blank: as the house keeps", 9),
        Head("note", "anything you like; it is not reckoned with", 26),
    ),
    "Extras": (
        Head("item", "anything else the job needs", 30),
        Head("qty", "blank: 1", 8),
        Head("unit", "each, m ...", 8, "units"),
        Head("price", "for one, without tax", 10),
        Head("note", "anything you like; it is not reckoned with", 26),
    ),
    "Labour": (
        Head("task", "work that is not counted by the program", 30),
        Head("qty", "how many times; blank: 1", 8),
        Head("hours", "hours for one", 9),
        Head("doubt %", "how unsure the hours are: 25 is 25 % up or down; blank: sure", 10),
        Head("note", "anything you like; it is not reckoned with", 26),
    ),
    "Cable": (
        Head("piece", "a name of its own for each reel and offcut", 10),
        Head("gauge", "1.0 for mm2, or 18 AWG", 10, "gauges"),
        Head("colour", "body, or body/trace", 15, "colours"),
        Head("length m", "what is left on it", 11),
        Head("cost per m", "what you paid, without tax", 12),
        Head("place", "where it lies", 14),
        Head("note", "anything you like; it is not reckoned with", 26),
    ),
    "Drawer": (
        Head("item", "by its name in the catalogues", 44, "items"),
        Head("unit", "each, or m for tape, tube and braid", 8, "units"),
        Head("on hand", "how many, or how much", 10),
        Head("low", "under this it is bought again", 8),
        Head("full", "up to this", 8),
        Head("cost", "for one, without tax", 9),
        Head("place", "where it lies", 14),
        Head("note", "anything you like; it is not reckoned with", 26),
    ),
    "Moves": tuple(
        Head(name, "written by the program", 16)
        for name in ("when", "job", "what", "item", "change", "unit", "left", "note")
    ),
    "Prices": (
        Head("supplier", "as on the suppliers list", 30),
        Head("item", "cable, or an item by its name in the catalogues", 46),
        Head("gauge", "for cable", 10, "gauges"),
        Head("colour", "for cable; blank: every plain colour", 15, "colours"),
        Head("sold as", "metre, reel, pack or each", 10, "sold"),
        Head("pack", "how many in a pack, or metres on a reel", 8),
        Head("price", "of one pack, metre, reel or piece", 10),
        Head("from qty", "from so many packs on", 10),
        Head("part no", "the supplier's own number", 14),
        Head("date", "when it was asked for, such as 2026-11-25; blank: not known", 12),
        Head("note", "anything you like; it is not reckoned with", 26),
    ),
    "Used": (
        Head("kind", "what the take-off calls it", 12, given=True),
        Head("item", "by its name on the take-off", 44, given=True),
        Head("gauge", "of cable", 8, given=True),
        Head("colour", "of cable", 14, given=True),
        Head("unit", "m for lengths, each for what is counted", 7, given=True),
        Head("planned", "what the take-off asks for, spares and waste included", 10, given=True),
        Head("used", "what is in the loom; empty where nobody measured it", 10),
        Head("spoilt", "cut wrong, crimped wrong, thrown away", 9),
        Head("note", "anything you like; it is not reckoned with", 26),
        Head("counted", "the plan without spares and waste", 10, given=True),
        Head("path m", "of cable: the measured way along the loom", 9, given=True),
        Head("fixed m", "of cable: tails, slack, ends and rounding", 9, given=True),
    ),
    "Hours": (
        Head("task", "counted operations, and the rows of the job's Labour sheet", 34, given=True),
        Head("planned hours", "with the house's allowance on labour", 15, given=True),
        Head("hours", "what it took; empty where nobody timed it", 10),
        Head("note", "anything you like; it is not reckoned with", 26),
        Head("counted hours", "without the house's allowance", 15, given=True),
    ),
    "Suppliers": (
        Head("supplier", "the name used on the price list", 30),
        Head("postage", "of one order", 10),
        Head("free over", "no postage from this value on", 10),
        Head("minimum order", "the least they take an order for; blank: none", 15),
        Head("prices include tax", "yes or no", 20, "answers"),
        Head("note", "anything you like; it is not reckoned with", 26),
    ),
}
JOB_SHEETS = ("Job", "Circuits", "Loom", "Components", "Fuses", "Extras", "Labour")

READ_ME = {
    "job": (
        "How to fill in this job book",
        "1. Job: customer and machine; any house rule for this job alone, by its key.",
        "2. Circuits: one row a wire, from the supply to the load, and from the load to earth.",
        "3. A pin follows a colon (tail lamp:earth): wires at one pin share its terminal.",
        "4. Loom: one row a branch, measured on the machine with the tape.",
        "5. Components: where each thing sits, its load, and which pins feed which.",
        "6. Leave blank what is to be worked out: gauge, load, length, fuse rating.",
        "7. Fuses, Extras and Labour only where you have something to say.",
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
        "6. Moves is written by the program: leave it as it is.",
        "7. Columns, sheets and colours of your own are welcome.",
        "8. Rows shaded grey, if any, are an invented example: look at them, then delete them.",
        "9. bom stock show prints the shelf, bom topup what runs low.",
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
    "used": (
        "What the job really used",
        "1. Used: one row an item. used is what is in the loom: as the plan counts it, until you",
        "   put it right. spoilt is what was cut or crimped wrong and thrown away.",
        "2. Nobody measured it? Empty its 'used': it is neither booked nor learned from.",
        "3. Lengths are in metres; 1600 mm, 160 cm or 63 in may be typed as well.",
        "4. Something that was not planned: a row of its own, with kind, item, unit and used.",
        "5. Labour: the hours of each task, or the hours of them all in the row 'all together'.",
        "6. Grey cells are the plan's: leave them, the allowances are reckoned from them.",
        "7. Save, then type: bom done and the name of the job.",
    ),
}


def new_workshop(folder: Path, catalogue: Catalogue) -> tuple[Path, ...]:
    """Make a workshop's files and return their paths, in order.

    Raises `Exists` for the first of them that is there already, before anything is written.
    """
    rows = example.ROWS
    books: dict[Path, Callable[[], Workbook]] = {
        folder / "stock.xlsx": lambda: _book(
            ("Cable", "Drawer", "Moves"), rows, catalogue, "stock"
        ),
        folder / "prices.xlsx": lambda: _book(("Prices",), rows, catalogue, "prices"),
        folder / "suppliers.xlsx": lambda: _book(("Suppliers",), rows, catalogue, "suppliers"),
        folder / "jobs" / "example.xlsx": lambda: _book(JOB_SHEETS, rows, catalogue, "job"),
    }
    rules = folder / "workshop.toml"
    _refuse_files(folder, folder / "jobs")
    if os.path.lexists(rules):
        raise Exists(rules)
    for path in books:
        _refuse_kinds(path.parent, path.stem)
    (folder / "jobs").mkdir(parents=True, exist_ok=True)
    _put(rules, workshop_toml(folder.resolve().name).encode())
    for path, make in books.items():
        _put(path, _bytes(make()))
    return (rules, *books)


def new_job(folder: Path, name: str, catalogue: Catalogue) -> Path:
    """Make a blank job book `jobs/NAME.xlsx` in a workshop folder.

    Raises `Exists` where a job of that name is kept already, in whichever kind of file,
    and `ValueError` for a name with nothing in it, or with a folder in it.
    """
    path = place_for(folder, name, ".xlsx")
    start = {"Job": [("job", job_name(name)), ("customer", None), ("machine", None)]}
    _put(path, _bytes(_book(JOB_SHEETS, start, catalogue, "job")))
    return path


def new_prices(folder: Path, catalogue: Catalogue) -> Path:
    """Make a blank price list in a workshop folder; raises `Exists` where there is one."""
    path = folder / "prices.xlsx"
    _refuse_kinds(folder, path.stem)
    _put(path, _bytes(_book(("Prices",), {}, catalogue, "prices")))
    return path


def job_name(typed: str) -> str:
    """A job's name as typed, without the ending of a book's file.

    >>> job_name("old-twin.xlsx"), job_name("R80.5")
    ('old-twin', 'R80.5')
    """
    name = typed.strip()
    ending = next((kind for kind in KINDS if kind and name.casefold().endswith(kind)), "")
    name = name.removesuffix(name[len(name) - len(ending) :]) if ending else name
    if not name.strip(" ."):
        raise ValueError("a job needs a name")
    odd = sorted({letter for letter in name if letter in '/\\:*?"<>|' or ord(letter) < 32})
    if odd:
        raise ValueError(f"a job's name is that of a file and cannot have {' '.join(odd)} in it")
    return name


def place_for(folder: Path, name: str, kind: str) -> Path:
    """Where the book of a new job goes in a workshop, its folder made; raises as `new_job`."""
    path = folder / "jobs" / f"{job_name(name)}{kind}"
    _refuse_files(path.parent)
    _refuse_kinds(path.parent, job_name(name))
    path.parent.mkdir(exist_ok=True)
    return path


def used_sheet(
    path: Path,
    job: str,
    rows: Sequence[tuple[Any, ...]],
    hours: Sequence[tuple[Any, ...]],
) -> None:
    """Make the sheet of what a job used, with the rows of the plan.

    Raises `Exists` where there is one already, or a file stands where its folder belongs.
    """
    _refuse_files(path.parent)
    path.parent.mkdir(exist_ok=True)
    sheets = {
        "Used": (SHEETS["Used"], rows),
        "Labour": (SHEETS["Hours"], hours),
        "Job": (SHEETS["Job"], [("job", job)]),
    }
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.worksheets[0])
    _read_me(book, READ_ME["used"])
    for name, (heads, filled) in sheets.items():
        sheet = book.create_sheet(name)
        _headings(sheet, heads)
        _fill(sheet, heads, filled, shaded=False)
        _page(sheet)
    _put(path, _bytes(book))


def _refuse_files(*folders: Path) -> None:
    for folder in folders:
        if os.path.lexists(folder) and not folder.is_dir():
            raise Exists(folder)


def _refuse_kinds(folder: Path, name: str) -> None:
    """Raise for a book that is there in any kind: a new `.xlsx` would be read in its place."""
    for kind in KINDS:
        other = folder / f"{name}{kind}"
        # A folder of the owner's own, with pictures say, is in nobody's way.
        if os.path.lexists(other) if kind else any(other.glob("*.csv")):
            raise Exists(other)


def _put(path: Path, data: bytes) -> None:
    """Put it there whole: what is there already is never replaced."""
    try:
        safely.put_new(path, data)
    except FileExistsError as fault:
        raise Exists(path) from fault


def _bytes(book: "Workbook") -> bytes:
    stream = BytesIO()
    book.save(stream)
    return stream.getvalue()


# --------------------------------------------------------------------------------- books


def _book(
    names: Sequence[str],
    rows: dict[str, list[tuple[Any, ...]]],
    catalogue: Catalogue,
    read_me: str = "",
) -> "Workbook":
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.worksheets[0])
    if read_me:
        _read_me(book, READ_ME[read_me])
    lists = _lists(catalogue)
    used = {head.choices for name in names for head in SHEETS[name] if head.choices}
    columns = {name: index for index, name in enumerate(sorted(used), start=1)}
    for name in names:
        sheet = book.create_sheet(name)
        _headings(sheet, SHEETS[name])
        _offer(sheet, SHEETS[name], columns, lists)
        _fill(sheet, SHEETS[name], rows.get(name, []), shaded=rows is example.ROWS)
        _page(sheet)
    _list_sheet(book, columns, lists)
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

    for index, head in enumerate(heads, start=1):
        cell = sheet.cell(1, index, head.name)
        cell.font = Font(name=_FONT, size=10, bold=True)
        cell.fill = PatternFill("solid", fgColor="E3EAEF")
        cell.border = Border(bottom=Side("thin", color="7A8B99"))
        cell.alignment = _side(head)
        if head.note:
            cell.comment = Comment(head.note, "bom", height=60, width=260)
        sheet.column_dimensions[get_column_letter(index)].width = head.width
    sheet.row_dimensions[1].height = 18
    sheet.freeze_panes = "A2"


def _fill(
    sheet: "Worksheet", heads: Sequence[Head], rows: Sequence[tuple[Any, ...]], *, shaded: bool
) -> None:
    """Rows, example rows in grey; text columns as text, so that no cell turns into a date."""
    from openpyxl.styles import Border, Font, PatternFill, Side

    font, line = Font(name=_FONT, size=10), Border(bottom=Side("thin", color="DDE3E8"))
    grey = PatternFill("solid", fgColor="F0F0F0")
    for number, row in enumerate(rows, start=2):
        for index, value in enumerate(row, start=1):
            cell = sheet.cell(number, index, value)
            if isinstance(value, str):
                cell.data_type = "s"  # a name that begins with = is no formula
    for index, head in enumerate(heads, start=1):
        side = _side(head)
        for number in range(2, max(BLANK_ROWS, len(rows)) + 2):
            cell = sheet.cell(number, index)
            cell.font, cell.alignment = font, side
            cell.number_format = _number_format(head, cell.value)
            if number - 2 < len(rows):
                cell.border = line
                if shaded or head.given:
                    cell.fill = grey


def _side(head: Head) -> "Alignment":
    """Numbers stand right; words left, off the edge, or they would touch the number before."""
    from openpyxl.styles import Alignment

    if head.name in _NUMBERS:
        return Alignment(horizontal="right", vertical="center")
    return Alignment(horizontal="left", vertical="center", indent=1)


def _number_format(head: Head, value: object) -> str:
    if head.name in _AS_TEXT and not isinstance(value, int | float):
        return "@"
    return _NUMBERS.get(head.name, "General")


_FONT = "Arial"
_AS_TEXT = frozenset(
    ("wire", "from", "to", "component", "at", "passes", "piece", "part no", "gauge", "fuse", "date")
)
_MONEY = "0.00##"  # pence always, and what a metre of cable costs below them
_NUMBERS = {
    **dict.fromkeys(("qty", "hours", "on hand", "low", "full", "change", "left"), "General"),
    **dict.fromkeys(("rating A", "spares", "pack", "from qty"), "General"),
    **dict.fromkeys(("slack mm", "tail mm", "doubt %"), "General"),
    **dict.fromkeys(("planned", "used", "spoilt", "counted", "path m", "fixed m"), "General"),
    **dict.fromkeys(("planned hours", "counted hours"), "0.00##"),
    **dict.fromkeys(("price", "cost", "cost per m"), _MONEY),
    **dict.fromkeys(("postage", "free over", "minimum order"), _MONEY),
    "length m": "0.00##",
}
"""Headings over numbers, and how the numbers are shown."""


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
        "coverings": ["tape", "tube", "braid", "none"],
        "holders": list(holders),
        "runs": list(DUTIES),
        "items": list(catalogue.items),
        "sold": ["metre", "reel", "pack", "each"],
        "units": ["each", "m"],
        "answers": ["yes", "no"],
        "rules": ["job", "customer", "machine", *RULES],
    }


def _offer(
    sheet: "Worksheet", heads: Sequence[Head], columns: dict[str, int], lists: dict[str, list[str]]
) -> None:
    """Drop-down lists that offer and do not forbid: a body and a trace may be typed."""
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.datavalidation import DataValidation

    for index, head in enumerate(heads, start=1):
        if not head.choices:
            continue
        letter = get_column_letter(columns[head.choices])
        formula = f"Lists!${letter}$1:${letter}${len(lists[head.choices])}"
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
            sheet.cell(number, index, word)
