"""The house rules: figures of `workshop.toml` and of a Job sheet in, `HouseRules` out."""

import re
import tomllib
from collections.abc import Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from bom import spelling
from bom.catalogue import Catalogue
from bom.headings import (
    OwnWords,
    own_words,
)
from bom.house import PERCENT_KEYS, WORD_KEYS, HouseRules
from bom.problem import Problem, Where, error, nearest
from bom.sheet import Percent, Value
from bom.spelling import Misspelt

NO_OWN_WORDS = OwnWords()


def read_rules_file(
    path: Path, columns: Mapping[str, Sequence[str]]
) -> tuple[dict[str, Any], OwnWords, tuple[Problem, ...]]:
    """A `workshop.toml`: its figures as written, numbers exact, and its words for columns.

    `columns` are the names of all columns there are, by sheet.  What is wrong is named by its key.
    """
    where = Where(path.name)
    try:
        with path.open(encoding="utf-8-sig") as stream:  # Windows may put a mark before it
            figures = tomllib.loads(stream.read(), parse_float=Decimal)
    except OSError as fault:
        says = f"the house rules cannot be read: {fault.strerror}"
        return {}, NO_OWN_WORDS, (error(where, says),)
    except UnicodeDecodeError:
        says = "is not written in UTF-8"
        return {}, NO_OWN_WORDS, (error(where, says, "save it as UTF-8"),)
    except tomllib.TOMLDecodeError as fault:
        cure = 'a rule a line, words in quotes, numbers bare: name = "Bench", volts = 12'
        says = f"the house rules cannot be read: {fault}"
        return {}, NO_OWN_WORDS, (error(where, says, cure),)
    own, problems = own_words(figures.pop("columns", {}), columns, path.name)
    unknown = [
        error(
            Where(path.name, "", key), "no such house rule", nearest(key, HouseRules.model_fields)
        )
        for key in figures
        if key not in HouseRules.model_fields
    ]
    rules = {key: value for key, value in figures.items() if key in HouseRules.model_fields}
    return rules, own, (*problems, *unknown)


def make_rules(
    figures: Mapping[str, Any], places: Mapping[str, Where], catalogue: Catalogue
) -> tuple[HouseRules, tuple[Problem, ...]]:
    """House rules from figures by key; what is not allowed is named and left at its default."""
    # yes and no are no figures, though pydantic counts them as 1 and 0
    good = {
        k: _typed(v) if isinstance(v, bool) and k not in WORD_KEYS else v
        for k, v in figures.items()
    }
    problems: list[Problem] = []
    if "gauges" in good:
        good["gauges"] = _gauge_list(good["gauges"], places["gauges"], catalogue, problems)
        if problems:
            del good["gauges"]
    allowed = {"end": tuple(catalogue.ends), "grouping": (*catalogue.grouping_tables, "none")}
    for key, known in allowed.items():
        try:
            if key in good:
                good[key] = spelling.one_word_of(str(good[key]), known, f"{key} =")
        except Misspelt as fault:
            problems.append(error(places[key], fault.says, fault.cure))
            del good[key]
    try:
        return HouseRules.model_validate(good), tuple(problems)
    except ValidationError as faults:
        for detail in faults.errors():
            key = str(detail["loc"][0])
            if good.pop(key, None) is not None:
                problems.append(_not_allowed(key, detail, places[key]))
    return HouseRules.model_validate(good), tuple(problems)


def _not_allowed(key: str, detail: Mapping[str, Any], where: Where) -> Problem:
    """What is wrong with a figure, in plain words, and what to try: a new workshop's, at least."""
    must = _must(key, detail["type"], detail.get("ctx", {}))
    typed = _typed(detail["input"])
    default = HouseRules.model_fields[key].default
    cure = f"{default}, the default" if str(default) else f'"{typed}"'
    bare = re.match(r"\d+(?:\.\d+)?(?=[^\d.,])", typed)
    if bare and "number" in must:  # `35 an hour`
        cure = bare[0]
    return error(where, f"{key} = {typed}: {must}", cure)


def _typed(value: Any) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)


def _must(key: str, kind: str, limits: Mapping[str, Any]) -> str:
    """What a figure of the house must be; `kind` is pydantic's name of the fault."""
    match kind:
        case "greater_than":
            return f"must be above {limits['gt']}"
        case "greater_than_equal":
            return f"must be {limits['ge']} or more"
        case "less_than":
            return f"must be below {limits['lt']}"
        case "less_than_equal":
            return f"must be {limits['le']} or less"
        case "literal_error":
            return f"must be {limits['expected']}"
        case "string_type":
            return "must be words in quotes"
        case "string_pattern_mismatch" if key == "currency":
            return "must be three capital letters"
        case "string_pattern_mismatch":
            return "must be a language and a country"
    return "must be a whole number" if kind.startswith("int") else "must be a number"


def _gauge_list(
    value: Any, where: Where, catalogue: Catalogue, problems: list[Problem]
) -> tuple[str, ...]:
    """The sizes that can be read, each fault told."""
    if isinstance(value, str):
        value = re.split(r"\s*;\s*" if ";" in value else r",\s*", value)
    found = []
    for item in value if isinstance(value, list | tuple) else [value]:
        try:
            if str(item).strip():
                found.append(_house_gauge(item, catalogue))
        except Misspelt as fault:
            problems.append(error(where, fault.says, fault.cure))
    return tuple(found)


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
