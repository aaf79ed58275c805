"""Values and start tags as the bytes of a sheet's XML, and which values a cell cannot hold.

Limits of a cell: 32,767 characters and 15 figures (Excel specifications and limits, Microsoft
support); the characters of XML 1.0, 2.2; `_x0041_` as an escape: ECMA-376 Part 1, 22.9.2.19.
"""

import re
from decimal import Decimal
from xml.sax.saxutils import quoteattr

from bom.trade.rows import Written

MAX_CHARACTERS = 32_767  # in UTF-16 units, as Excel counts them
MAX_FIGURES = 15
MAX_EXPONENT = 307
_NOT_XML = re.compile("[^\t\n\r -\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_LOOKS_ESCAPED = re.compile("_(?=x[0-9A-Fa-f]{4}_)")


def fault(value: Written) -> tuple[str, str] | None:
    """What is wrong with a value, and the cure; `None` when a cell holds it exactly."""
    if isinstance(value, str):
        return _fault_of_text(value)
    if value is None:
        return None
    number = Decimal(value)
    if not number.is_finite() or abs(number.adjusted()) > MAX_EXPONENT:
        return f"'{value}' is not a number that a cell can hold", ""
    if len(number.normalize().as_tuple().digits) > MAX_FIGURES:
        return f"'{value}' has more than the {MAX_FIGURES} figures that a cell holds", "round it"
    return None


def _fault_of_text(text: str) -> tuple[str, str] | None:
    bad = _NOT_XML.search(text)
    if bad:
        return f"a text with the control character U+{ord(bad[0]):04X} cannot be stored", (
            "take the character out"
        )
    if len(text.encode("utf-16-le")) // 2 > MAX_CHARACTERS:
        return f"a text over {MAX_CHARACTERS:,} characters does not fit into a cell", "shorten it"
    return None


def cell_xml(prefix: str, name: str, style: str | None, value: Written) -> bytes:
    """A cell with a value, or with nothing but its style.

    >>> cell_xml("", "B7", "3", Decimal("1E+2"))
    b'<c r="B7" s="3"><v>100</v></c>'
    >>> cell_xml("", "B7", None, "a < b")
    b'<c r="B7" t="inlineStr"><is><t>a &lt; b</t></is></c>'
    """
    p, styled = prefix, f" s={quoteattr(style)}" if style is not None else ""
    if value is None or value == "":
        xml = f'<{p}c r="{name}"{styled}/>'
    elif isinstance(value, str):
        space = ' xml:space="preserve"' if _space_matters(value) else ""
        text = f"<{p}is><{p}t{space}>{_escaped(value)}</{p}t></{p}is>"
        xml = f'<{p}c r="{name}"{styled} t="inlineStr">{text}</{p}c>'
    else:
        xml = f'<{p}c r="{name}"{styled}><{p}v>{number_text(value)}</{p}v></{p}c>'
    return xml.encode()


def number_text(number: int | Decimal) -> str:
    """All figures of a number, without an exponent.

    >>> number_text(Decimal("0.10")), number_text(Decimal("-0"))
    ('0.1', '0')
    """
    exact = Decimal(number)
    return format(exact.normalize(), "f") if exact else "0"


def _space_matters(text: str) -> bool:
    return text != text.strip() or "  " in text or any(mark in text for mark in "\t\n\r")


def _escaped(text: str) -> str:
    """Text for an element; a word that only looks like an escape is kept as it reads."""
    text = _LOOKS_ESCAPED.sub("_x005F_", text)
    for mark, entity in (("&", "&amp;"), ("<", "&lt;"), (">", "&gt;"), ("\r", "&#13;")):
        text = text.replace(mark, entity)
    return text


def with_attribute(tag: bytes, name: str, value: str | None) -> bytes:
    """A start tag with one attribute set, or taken out.

    >>> with_attribute(b'<row r="1" hidden="1">', "hidden", None)
    b'<row r="1">'
    >>> with_attribute(b"<row spans='1:2'/>", "spans", "1:3")
    b'<row spans="1:3"/>'
    """
    pattern = re.compile(rf"""\s+{re.escape(name)}\s*=\s*("[^"]*"|'[^']*')""".encode())
    new = b"" if value is None else f" {name}={quoteattr(value)}".encode()
    if pattern.search(tag):
        return pattern.sub(lambda _: new, tag, count=1)
    end = tag.rfind(b"/>") if tag.endswith(b"/>") else len(tag) - 1
    return tag[:end].rstrip() + new + tag[end:]


def opened(tag: bytes) -> bytes:
    """The start tag of an element that was empty.

    >>> opened(b'<row r="5"/>')
    b'<row r="5">'
    """
    return tag[:-2].rstrip() + b">"
