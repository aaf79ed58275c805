"""The house rules: figures of `workshop.toml` and of a Job sheet in, `HouseRules` out."""

import re
import tomllib
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

from bom.files import spelling
from bom.files.headings import NO_OWN_WORDS, OwnWords, own_words
from bom.files.sheet import Percent, Value, link_to_nothing
from bom.files.spelling import Misspelt
from bom.trade.catalogue import Catalogue
from bom.trade.house import (
    BLANK,
    COVER_KEYS,
    DEFAULTS,
    PERCENT_KEYS,
    RETIRED,
    RULES,
    WORD_KEYS,
    HouseRules,
    allowed,
)
from bom.trade.problem import Problem, Where, caution, error, nearest
from bom.trade.rule import NotAllowed


def read_rules_file(
    path: Path, columns: Callable[[], Mapping[str, Sequence[str]]]
) -> tuple[dict[str, Any], OwnWords, tuple[Problem, ...]]:
    """A `workshop.toml`: its figures as written, numbers exact, and its words for columns.

    `columns` gives the names of all columns by sheet.  What is wrong is named by its key.
    """
    where = Where(path.name)
    try:
        with path.open(encoding="utf-8-sig") as stream:  # Windows may put a mark before it
            figures = tomllib.loads(stream.read(), parse_float=_as_written)
    except OSError as fault:
        bare = (f"the house rules cannot be read: {fault.strerror}", "")
        return {}, NO_OWN_WORDS, (error(where, *(link_to_nothing(path) or bare)),)
    except UnicodeDecodeError:
        says = "is not written in UTF-8"
        return {}, NO_OWN_WORDS, (error(where, says, "save it as UTF-8"),)
    except tomllib.TOMLDecodeError as fault:
        cure = 'a rule a line, words in quotes, numbers bare: name = "Bench", volts = 12'
        says = f"the house rules cannot be read: {fault}"
        return {}, NO_OWN_WORDS, (error(where, says, cure),)
    except ValueError:  # Python reads no whole number of thousands of digits
        says = "a figure is too long to be read"
        return {}, NO_OWN_WORDS, (error(where, says, "a figure that can be meant"),)
    own, problems = NO_OWN_WORDS, tuple[Problem, ...]()
    if "columns" in figures:
        own, problems = own_words(figures.pop("columns"), columns(), path.name)
    unknown = [
        retired(key, Where(path.name, "", key))
        or error(Where(path.name, "", key), "no such house rule", nearest(key, RULES))
        for key in figures
        if key not in RULES
    ]
    rules = {key: value for key, value in figures.items() if key in RULES}
    return rules, own, (*problems, *unknown)


def _as_written(figure: str) -> Decimal:
    """A figure exact; one beyond all figures is told where its rule is."""
    try:
        return Decimal(figure)
    except InvalidOperation:
        return Decimal("Infinity")


def retired(key: str, where: Where) -> Problem | None:
    """A house rule of an earlier release: told, and not used."""
    if key not in RETIRED:
        return None
    return caution(where, f"the house rule {key} is not used any more", RETIRED[key])


def make_rules(
    figures: Mapping[str, Any], places: Mapping[str, Where], catalogue: Catalogue
) -> tuple[HouseRules, tuple[Problem, ...]]:
    """House rules from figures by key; what is not allowed is named and left at its default."""
    problems: list[Problem] = []
    good: dict[str, Any] = {}
    for key, value in figures.items():
        if key == "gauges":
            sizes, faults = _gauge_list(value, places[key], catalogue)
            problems += faults
            good[key] = () if faults else sizes
            continue
        try:
            good[key] = _checked(key, value, catalogue)
            if key in PERCENT_KEYS and 0 < good[key] < 1:
                problems.append(_under_one(key, good[key], places[key]))
        except NotAllowed as fault:
            problems.append(_not_allowed(key, value, str(fault), places[key]))
        except Misspelt as fault:
            problems.append(error(places[key], fault.says, fault.cure))
    return HouseRules(**good), tuple(problems)


def _checked(key: str, value: Any, catalogue: Catalogue) -> Any:
    """A figure in its rule's own type, a word in the catalogue's spelling."""
    ends = tuple(catalogue.ends)
    if key in ("end", "in_line_end"):
        return spelling.one_word_of(str(value), ends, f"{key} =")
    if key == "floor_gauge":
        return _house_gauge(value, catalogue)
    figure = allowed(key, value)
    if key in COVER_KEYS and figure not in catalogue.layers:
        *most, last = map(repr, catalogue.layers)
        raise NotAllowed(f"{', '.join(most)} or {last}")
    return figure


def _under_one(key: str, share: Decimal, where: Where) -> Problem:
    """A share of a whole, such as 0.19, may have been typed where a percentage stands."""
    says = f"{key} = {share} is less than one per cent: is that right?"
    return caution(where, says, f"{spelling.plain(share * 100)}, if a share of {share} is meant")


def _not_allowed(key: str, value: Any, must: str, where: Where) -> Problem:
    """What is wrong with a figure, in plain words, and what to try: a new workshop's, at least."""
    typed = _typed(value)
    default = DEFAULTS[key]
    cure = f"{default}, the default" if str(default) else f'"{typed}"'
    if default is BLANK:
        cure = "blank, the default"
    if RULES[key].range and "number" not in must:
        cure = f"{cure}; {RULES[key].range} is allowed"
    bare = re.match(r"\d+(?:\.\d+)?(?=[^\d.,])", typed)
    if bare and "number" in must:  # `35 an hour`
        cure = bare[0]
    return error(where, f"{key} = {typed}: must be {must}", cure)


_LONGEST_SHOWN = 60
"""A longer figure is not shown to its end."""


def _typed(value: Any) -> str:
    text = str(value).lower() if isinstance(value, bool) else str(value)
    return text if len(text) <= _LONGEST_SHOWN else f"{text[:_LONGEST_SHOWN]}..."


def _gauge_list(
    value: Any, where: Where, catalogue: Catalogue
) -> tuple[tuple[str, ...], list[Problem]]:
    """The sizes that can be read, each fault told."""
    if isinstance(value, str):
        value = re.split(r"\s*;\s*" if ";" in value else r",\s*", value)
    found, problems = [], []
    for item in value if isinstance(value, list | tuple) else [value]:
        try:
            if str(item).strip():
                found.append(_house_gauge(item, catalogue))
        except Misspelt as fault:
            problems.append(error(where, fault.says, fault.cure))
    return tuple(found), problems


def _house_gauge(item: Any, catalogue: Catalogue) -> str:
    if isinstance(item, bool) or not isinstance(item, str | int | Decimal):
        raise Misspelt(f"'{_typed(item)}' is no cable size", 'gauges = ["1.0", "2.0"]')
    return spelling.gauge(Decimal(item) if isinstance(item, int) else item, "", catalogue)


_RULE_UNITS = {"c": "°?c", "w": "w", "volts": "v", "percent": "%", "other": "%"}
"""What may follow a figure, by the last word of its rule's key."""


def figure(key: str, value: Value) -> Any:
    """A house rule's value as typed on the Job sheet: the bare number, or the word.

    A unit must be one of the rule's own kind; lengths are turned into the unit of the key.
    """
    if isinstance(value, Percent):
        return value.value if key in PERCENT_KEYS else value.value / 100
    typed = spelling.text_of(value)
    if isinstance(value, Decimal) and key not in WORD_KEYS:
        return value
    kind = key.rpartition("_")[2]
    if key in WORD_KEYS or key == "gauges":
        return typed
    if kind in ("mm", "m"):
        length = spelling.length_mm(typed, "", kind) / spelling.MM_PER_UNIT[kind]
        return Decimal(length.numerator) / length.denominator
    if key == "hourly_rate":
        return spelling.money(value)
    if key == "leftover_worth" and typed.endswith("%"):
        return spelling.number(typed.removesuffix("%").rstrip()) / 100
    unit = _RULE_UNITS.get(kind, "")
    match = re.fullmatch(rf"([+-]?\d+(?:[.,]\d+)?)\s*(?:{unit})?", typed.casefold())
    return spelling.number(match[1]) if match else typed
