"""Values as people spell them: lengths, gauges, colours, loads, counts and names.

Each reader takes what stood in a cell (and the unit its heading gave, if any) and
returns the exact value, or raises `Misspelt` with a sentence and a suggestion.  It
suggests and never guesses: what can be read in two ways is an error that names both.
"""

import re
from collections.abc import Mapping
from datetime import date, time
from decimal import Decimal
from fractions import Fraction

from bom.files.sheet import NO_RESULT, Fault, Percent, Value
from bom.trade.catalogue import Catalogue
from bom.trade.catalogue_rows import Load
from bom.trade.job_book import Colour, OneOf, Pin
from bom.trade.problem import nearest


class Misspelt(ValueError):
    """A cell that cannot be read: the sentence to print and what to try instead.

    `alike` is what several of its kind are told as.
    """

    def __init__(self, says: str, cure: str = "", *, alike: str = "") -> None:
        super().__init__(says)
        self.says = says
        self.cure = cure
        self.alike = alike


COLDEST_C, HOTTEST_C = -50, 150
"""The air around a loom, as the house rule `ambient_c` may have it."""
MM_PER_UNIT: Mapping[str, Fraction] = {
    **dict.fromkeys(("mm", "millimetre", "millimetres"), Fraction(1)),
    **dict.fromkeys(("cm", "centimetre", "centimetres"), Fraction(10)),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), Fraction(1000)),
    **dict.fromkeys(("in", "inch", "inches", '"', "”", "″", "''"), Fraction("25.4")),
    **dict.fromkeys(("ft", "foot", "feet", "'", "’", "′"), Fraction("304.8")),
}
"""Exact millimetres per unit of length; 1 in is 25.4 mm by definition (ISO 80000-3)."""

MOST_SLACK_MM = 10_000
"""No tail or slack is longer."""
LARGEST = 10**9
"""No length, load, price or count of the trade comes near this."""

MOST_HOURS = 10_000
LARGEST_TAIL_WATTS = 15
"""A second filament over this is a beam, never on with the first; else a tail, on with a stop."""

_UNSIGNED = r"(?:\d+(?:[.,]\d+)?|\.\d+)"
_NUMBER = rf"[+-]?{_UNSIGNED}"
_MEASURE = re.compile(rf"({_NUMBER})\s*([^\d\s.,+-]*)")
# The dash of 3'-11" joins feet and inches, as on drawings (common practice): no minus sign.
_FEET_INCHES = re.compile(
    rf"({_NUMBER})\s*(?:ft|foot|feet|'|’|′)(?:\s*|-)({_UNSIGNED})\s*(?:in|inch|inches|\"|”|″|'')?"
)


def text_of(value: Value) -> str:
    """A cell as text: numbers without a needless `.0`, spaces and blanks made single."""
    if isinstance(value, str):
        return " ".join(value.split())
    if value is None:
        return ""
    if isinstance(value, Fault):
        cure = "type the value itself, or mend the formula"
        if value == NO_RESULT:
            cure = "open the book in the spreadsheet program and save it"
        raise Misspelt(f"the cell holds {value.says}", cure)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, date | time):
        raise Misspelt(
            f"the spreadsheet turned this cell into a date ({value})",
            "format the cell as text and type it again",
        )
    if isinstance(value, Percent):
        return f"{plain(value.value)} %"
    return plain(value)


def name_of(value: Value) -> str:
    """A name or a label: a number 1.0 is `1`, in a .csv file too.

    >>> name_of("1.0"), name_of("1.1"), name_of("H4  main")
    ('1', '1.1', 'H4 main')
    """
    text = text_of(value)
    if "." in text and re.fullmatch(r"\d+\.0+", text):
        return text.partition(".")[0]
    return text


def plain(value: Decimal) -> str:
    """A number without exponent and without trailing zeros.

    >>> plain(Decimal("1.50")), plain(Decimal("1E+2"))
    ('1.5', '100')
    """
    text = format(value, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def fold(name: str) -> str:
    """The form in which two names are the same: case and spaces do not count."""
    return " ".join(name.split()).casefold()


def number(text: str) -> Decimal:
    """A number with a point or a decimal comma, exact.

    No thousands begin with a nought: 0,775 has a decimal comma.

    >>> number("1,5"), number("-0.25"), number("0,775")
    (Decimal('1.5'), Decimal('-0.25'), Decimal('0.775'))
    """
    if not re.fullmatch(_NUMBER, text):
        raise Misspelt(f"'{text}' is not a number")
    if re.fullmatch(r"[+-]?[1-9]\d*,\d{3}", text):
        raise Misspelt(
            f"'{text}' can be read in two ways",
            f"{text.replace(',', '')} for thousands, {text.replace(',', '.')} for a decimal",
        )
    value = Decimal(text.replace(",", "."))
    if abs(value) > LARGEST:
        raise Misspelt(f"{text[:12]}... is too large to be meant")
    return value


def hours(value: Value) -> Decimal:
    """Hours, as a number or as hours and minutes: 1:30 is an hour and a half.

    >>> hours("1:30"), hours(time(0, 45)), hours(Decimal("2.5"))
    (Decimal('1.5'), Decimal('0.75'), Decimal('2.5'))
    """
    if isinstance(value, time):
        return Decimal(value.hour) + Decimal(value.minute) / 60
    match = re.fullmatch(r"(\d{1,3}):([0-5]\d)", text_of(value))
    found = Decimal(match[1]) + Decimal(match[2]) / 60 if match else quantity(value)
    if found > MOST_HOURS:
        raise Misspelt(f"{plain(found)} hours are more than anyone works", "2.5, or 2:30")
    return found


def quantity(value: Value) -> Decimal:
    """A number that may be zero but not negative."""
    amount = number(text_of(value))
    if amount < 0:
        raise Misspelt(f"{plain(amount)} is below zero")
    return amount


def percent(value: Value, unit: str) -> Decimal:
    """A share in per cent from 0 to 100; `unit` is `%` under a heading that says so.

    >>> percent("12,5 %", ""), percent(Decimal(20), ""), percent(Decimal("0.2"), "%")
    (Decimal('12.5'), Decimal('20'), Decimal('0.2'))
    """
    text = text_of(value)
    match = re.fullmatch(rf"({_NUMBER})\s*(%?)", text)
    if match is None:
        raise Misspelt(f"'{text}' is not a share in per cent", "20 %")
    share = number(match[1])
    if not 0 <= share <= 100:
        raise Misspelt(f"{plain(share)} % is not between 0 and 100 %")
    if 0 < share < 1 and not (match[2] or unit):
        says = f"'{text}' can be read in two ways"
        raise Misspelt(says, f"{plain(share)} % or {plain(share * 100)} %")
    return share


def money(value: Value) -> Decimal:
    """A price: a number with or without a currency sign around it, never negative."""
    text = re.sub(r"^[£$€]\s*|\s*(?:[£$€]|[A-Z]{3})$", "", text_of(value))
    return quantity(text)


def count(value: Value, least: int = 1, most: int = 0) -> int:
    """A whole number from 1 up, or from another least one; `most` is what a loom has of it."""
    amount = number(text_of(value))
    if amount < least or amount != int(amount):
        says = f"'{text_of(value)}' is not a whole number from {least} up"
        raise Misspelt(says, f"{least}, {least + 1}, {least + 2} ...")
    if most and amount > most:
        raise Misspelt(f"{plain(amount)} are more than a loom has", f"{least} to {most}")
    return int(amount)


def length_mm(value: Value, unit: str, bare: str) -> Fraction:
    """A length in exact millimetres, never negative.

    The cell's own unit wins, then the heading's `unit`, then `bare`.

    >>> length_mm("3 ft 11 in", "", "m")
    Fraction(5969, 5)
    >>> length_mm("1,2 m", "", "m")
    Fraction(1200, 1)
    """
    text = text_of(value)
    total = _length_mm(text, unit or bare)
    if total < 0:
        raise Misspelt(f"a length of {text} is below zero", text.lstrip("- "))
    return total


def _length_mm(text: str, unit: str) -> Fraction:
    lower = text.casefold()
    both = _FEET_INCHES.fullmatch(lower)
    if both:
        feet, inches = both.groups()
        return Fraction(number(feet)) * MM_PER_UNIT["ft"] + (
            Fraction(number(inches)) * MM_PER_UNIT["in"]
        )
    single = _MEASURE.fullmatch(lower)
    if single is None:
        raise Misspelt(f"'{text}' is not a length", "1.2 m, 120 cm, 1200 mm, 47 in, 3 ft 11 in")
    amount, own = single.groups()
    if own and own not in MM_PER_UNIT:
        raise Misspelt(f"'{own}' is not a unit of length", "m, cm, mm, in or ft")
    return Fraction(number(amount)) * MM_PER_UNIT[own or unit]


def run_mm(value: Value, unit: str) -> Fraction:
    """A measured run: metres where no unit is given, above zero."""
    length = length_mm(value, unit, "m")
    if length == 0:
        raise Misspelt("a length of 0", "the measured length, such as 1.2 m")
    return length


def slack_mm(value: Value, unit: str) -> Fraction:
    """A tail or slack: millimetres where no unit is given, zero or more."""
    length = length_mm(value, unit, "mm")
    if length > MOST_SLACK_MM:
        most = f"{MOST_SLACK_MM // 1000} m is the most"
        raise Misspelt(f"{text_of(value)} is no length of a tail or slack: {most}", "in mm: 150")
    return length


def gauge(value: Value, unit: str, catalogue: Catalogue) -> str:
    """A cable size as the catalogue spells it: `1.0` for mm2, `18 AWG`.

    A bare number is mm2 unless the heading says AWG; `4 mm` is refused, since in some
    countries it is an outside diameter.
    """
    text = text_of(value)
    lower = text.casefold().replace("²", "2").replace("sq mm", "mm2").replace("sqmm", "mm2")
    awg = re.fullmatch(r"(?:awg|#)\s*(\d+)|(\d+)\s*(?:awg|ga)", lower)
    if awg or (unit == "awg" and re.fullmatch(r"\d+", lower)):
        return _known_gauge(f"{(awg[1] or awg[2]) if awg else lower} AWG", text, catalogue)
    if re.fullmatch(rf"{_NUMBER}\s*mm", lower):
        raise Misspelt(
            f"'{text}' may be a diameter: a gauge is an area",
            f"{text}2 if it is the area of the conductor",
        )
    area = re.fullmatch(rf"({_NUMBER})\s*(?:mm2)?", lower)
    if area is None:
        raise Misspelt(f"gauge '{text}' is not known", _gauges(catalogue))
    mm2 = Fraction(number(area[1]))
    for cable in catalogue.cables.values():
        if not cable.is_awg and cable.area_mm2 == mm2:
            return cable.gauge
    return _known_gauge(area[1], text, catalogue)


def _known_gauge(name: str, typed: str, catalogue: Catalogue) -> str:
    if name in catalogue.cables:
        return name
    cure = f"{typed} AWG" if f"{typed} AWG" in catalogue.cables else _gauges(catalogue)
    raise Misspelt(f"gauge '{typed}' is not known", cure)


def _gauges(catalogue: Catalogue) -> str:
    return "one of " + ", ".join(name for name, c in catalogue.cables.items() if not c.is_awg)


def colour(value: Value, catalogue: Catalogue) -> Colour:
    """A colour: body, or body/trace; words, two-letter IEC 60757 codes, BS AU 7 letters."""
    text = text_of(value)
    if re.sub(r"[\s-]", "", text).casefold() == "gnye":
        return Colour("green", "yellow")
    parts = [part.strip() for part in text.split("/")]
    if len(parts) > 2 or not all(parts):
        raise Misspelt(f"colour '{text}' is not a body, or a body and a trace", "blue/white")
    words = [_colour_word(part, parts, catalogue) for part in parts]
    return Colour(words[0], words[1] if len(words) == 2 and words[1] != words[0] else "")


def _colour_word(part: str, parts: list[str], catalogue: Catalogue) -> str:
    found = _look_up_colour(part, catalogue)
    if found:
        return found
    readings = _run_together(part, catalogue)
    if readings:
        says = f"colour '{part}' may be a body and a trace run together"
        raise Misspelt(says, " or ".join(readings))
    says = f"colour '{part}' is not known"
    words = [word for row in catalogue.colours for word in (row.word, *row.also)]
    near = [one if _look_up_colour(one, catalogue) else nearest(one, words) for one in parts]
    if all(near):
        raise Misspelt(says, "/".join(near))
    known = "one of " + ", ".join(row.word for row in catalogue.colours)
    raise Misspelt(says, known, alike="colours that are not known")


def _look_up_colour(part: str, catalogue: Catalogue) -> str:
    word, code = fold(part), part.upper()
    for row in catalogue.colours:
        if word == row.word or word in row.also:
            return row.word
    for row in catalogue.colours:
        if row.iec60757 and code == row.iec60757:
            return row.word
    for row in catalogue.colours:
        if row.bs_au_7 and code == row.bs_au_7:
            return row.word
    return ""


def _run_together(part: str, catalogue: Catalogue) -> list[str]:
    """Ways to read letters run together as a body and a trace, each spelled out."""
    readings: list[str] = []
    if len(part) > 4:  # two codes of two letters
        return readings
    for cut in range(1, len(part)):
        body = _look_up_colour(part[:cut], catalogue)
        trace = _look_up_colour(part[cut:], catalogue)
        if body and trace:
            readings.append(f"{body}/{trace}")
    return readings


def load(value: Value, unit: str, catalogue: Catalogue) -> Load:
    """A load: watts, amps, so many of them (`2 x 21 W`), or a name of catalogs/loads.csv.

    With volts beside them, as a bulb is stamped (`12 V 5 W`), it is for these volts alone.
    """
    text = text_of(value)
    named = catalogue.loads.get(fold(text))
    if named:
        return named
    stamped = _VOLTS.search(text)
    if stamped is None:
        return _typed_load(text, text, unit, catalogue)
    bare = f"{text[: stamped.start()]}{text[stamped.end() :]}".strip(" ,-/")
    lamp = _typed_load(bare, text, unit, catalogue)
    return Load(lamp.amount, lamp.unit, text, by_volts=((Fraction(number(stamped[1])), lamp),))


_VOLTS = re.compile(rf"(?<![\w.,])({_UNSIGNED})\s*v(?:olts?)?(?![a-z])", re.IGNORECASE)


def _typed_load(bare: str, text: str, unit: str, catalogue: Catalogue) -> Load:
    """Watts or amps from a cell's text, without the volts that stand in it."""
    match = re.fullmatch(
        rf"(?:(\d{{1,2}})\s*[x×]\s*)?({_NUMBER})\s*(mw|w|kw|watts?|ma|a|amps?)?", bare.casefold()
    )
    if match is None:
        raise Misspelt(f"load '{text}' is not known", _load_meant(bare, catalogue))
    own = match[3] or unit
    if not own:
        raise Misspelt(f"load '{text}' has no unit", f"{bare} W or {bare} A")
    amount = Fraction(number(match[2])) * int(match[1] or 1)
    if amount < 0:
        raise Misspelt(f"a load of {text} is below zero")
    scale = {"m": Fraction(1, 1000), "k": Fraction(1000)}.get(own[0], Fraction(1))
    return Load(amount * scale, "A" if own.lstrip("mk").startswith("a") else "W")


def _load_meant(text: str, catalogue: Catalogue) -> str:
    """What to type for a load that is not known; a lamp of two filaments has one on each wire."""
    names = [entry.name for entry in catalogue.loads.values()]
    parts = [name for name in names if name.casefold().startswith(f"{text.casefold()} ")]
    watts = re.search(rf"({_NUMBER})\s*/\s*({_NUMBER})\s*w?$", text.casefold())
    if len(parts) != 2 and watts:
        parts = [f"{watts[1]} W", f"{watts[2]} W"]
    if len(parts) != 2:
        return nearest(text, names) or "55 W, 4.2 A, or a name from catalogs/loads.csv"
    cure = f"on Circuits {parts[0]} for the wire to one filament, {parts[1]} for that to the other"
    apart = parts[0].endswith(" main") or (watts and number(watts[2]) > LARGEST_TAIL_WATTS)
    return f"{cure}; beam:main and beam:dip under one of" if apart else cure


def degrees_c(value: Value) -> Decimal:
    """A temperature in degrees C, with or without its unit: `60`, `60 C`, `60 °C`."""
    typed = re.fullmatch(rf"([+-]?{_NUMBER})\s*(?:°|deg)?\s*c?", text_of(value).casefold())
    if typed is None:
        raise Misspelt(f"'{text_of(value)}' is no temperature", "60, in degrees C")
    degrees = number(typed[1])
    if not COLDEST_C <= degrees <= HOTTEST_C:
        raise Misspelt(f"{degrees} C is no air that a loom lies in", "60, in degrees C")
    return degrees


def amps(value: Value) -> Fraction:
    """A fuse rating in amps, with or without its unit, above zero."""
    match = re.fullmatch(rf"({_NUMBER})\s*(?:a|amps?)?", text_of(value).casefold())
    if match is None:
        raise Misspelt(f"'{text_of(value)}' is not a rating in amps", "10 A")
    amount = Fraction(number(match[1]))
    if amount <= 0:
        raise Misspelt(f"a rating of {text_of(value)} is not above zero")
    return amount


def pin(value: Value) -> Pin:
    """A point, or a point and a pin after the first colon."""
    point, _, name = name_of(value).partition(":")
    if not point.strip():
        raise Misspelt("no point before the colon", f"switch:{name.strip()}")
    return Pin(point.strip(), name.strip())


def one_of(value: Value) -> OneOf:
    """A word, or word:choice, in small letters."""
    word, colon, choice = fold(text_of(value)).partition(":")
    if not word.strip() or (colon and not choice.strip()):
        raise Misspelt(f"'{text_of(value)}' is not a word or word:choice", "turn:left")
    return OneOf(word.strip(), choice.strip())


def one_word_of(value: Value, words: Mapping[str, str] | tuple[str, ...], what: str) -> str:
    """One of a list of words, spelled as the list spells it."""
    typed = fold(text_of(value))
    known = {fold(word): word for word in words}
    if typed in known:
        return known[typed]
    close = nearest(typed, known)
    says, some = f"{what} '{text_of(value)}' is not known", list(known.values())[:_SOME]
    if close:
        raise Misspelt(says, known[close])
    cure = f"one of {', '.join(some)}{' ...' * (len(known) > _SOME)}"
    raise Misspelt(says, cure, alike=f"words that are no {what}")


_SOME = 12
"""So many words of a longer list are named."""
