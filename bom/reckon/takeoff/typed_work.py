"""Work that is counted already, and typed once more on the Labour sheet: charged twice.

A task is told only where each of its words speaks of counted work.  `Crimp terminals` does;
`strip old loom`, `fit headlamp bracket` and `make battery box` are work of the owner's own.
"""

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import chain, groupby

from bom.trade.catalogue import Catalogue
from bom.trade.catalogue_rows import TaskWords
from bom.trade.job_book import JobBook
from bom.trade.problem import Problem, caution

_FIT = "fit"
_WHOLE = "loom"
"""The row of catalogs/tasks.csv that means every operation."""
_COMPONENT = "component"
_MACHINERY = "machinery"
"""What catalogs/tasks.csv calls components of the job, and those of the engine among them."""
_OF_THE_ENGINE = frozenset(
    ("alternator", "dynamo", "engine", "generator", "magneto", "motor", "pump", "starter", "stator")
)
_FEW = 3
_MARK = 2
_FILLERS = frozenset(
    (
        *("a", "all", "an", "and", "at", "both", "complete", "each", "every"),
        *("everything", "for", "full", "in", "into"),
        *("new", "of", "on", "onto", "the", "to", "up", "whole", "with"),
    )
)
_WHICH_LOOM = re.compile(
    r"\b(?:(?:body|engine|frame|front|handlebar|headlamp|main|rear|sub|tail)\s+)+"
    r"(?=(?:loom|harness|wiring)\b)"
)


def typed_twice(
    book: JobBook, counts: Mapping[str, Fraction], catalogue: Catalogue
) -> Iterator[Problem]:
    """Cautions for rows of the Labour sheet whose work is counted already."""
    hours = {
        name: count * catalogue.labour[name].minutes / 60
        for name, count in counts.items()
        if name in catalogue.labour and count * catalogue.labour[name].minutes
    }
    told = [
        (row, found)
        for row in book.labour
        if (found := _counted(_operations_in(row.task, book, catalogue.task_words), hours))
    ]
    some = (f"'{row.task}' ({_named(found)})" for row, found in told[:_FEW])
    alike = f"tasks are counted already, such as {', '.join(some)}"
    for row, found in told:
        took = round(float(sum(hours[name] for name in found)), 2)
        says = f"'{row.task}' is counted already: {_named(found)}, {took:g} h"
        cure = "no row for it, or in its name what else it is"
        yield caution(row.row.where("task"), says, cure, alike=alike)


def _counted(meant: Collection[str], hours: Iterable[str]) -> tuple[str, ...]:
    """The operations with hours that a task is made of; none where some of it is not counted."""
    found = tuple(name for name in hours if name in meant or _WHOLE in meant)
    return found if {*meant} <= {_WHOLE, *found} else ()


def _named(found: Sequence[str]) -> str:
    return ", ".join(found) if len(found) <= _FEW else f"{len(found)} operations"


def _operations_in(task: str, book: JobBook, known: Sequence[TaskWords]) -> set[str]:
    """The operations that a task is made of; none where a word of it speaks of something else."""
    phrases = [*_phrases(task)]
    return _meant(chain(*phrases), known) or _meant(_with_components(phrases, book), known)


def _meant(typed: Iterable[str], known: Sequence[TaskWords]) -> set[str]:
    """Those of the rows that speak of every word alone, else of several together."""
    words = {_as_known(word, known) for word in typed}
    done = [row for row in known if row.does & words and row.things & words]
    named = [row for row in known if row.called & words or _is_named(row.operation, words)]
    alone = [row for row in (*done, *named) if words <= row.words]
    for rows in (alone, done, [*done, *named]):
        if rows and words <= set(chain.from_iterable(row.words for row in rows)):
            return {row.operation for row in rows}
    return set()


def _is_named(operation: str, words: Collection[str]) -> bool:
    """By all words of its name; beside others `fit` is what is done to those: `fit covers`."""
    return {*operation.split()} - _FILLERS <= {*words} and (operation != _FIT or {*words} == {_FIT})


def _as_known(word: str, rows: Iterable[TaskWords]) -> str:
    known = frozenset[str]().union(*(row.words for row in rows))
    return next((form for form in _forms(word) if form in known), word)


# ------------------------------------------------------------------------------ components


def _with_components(phrases: Iterable[Sequence[str]], book: JobBook) -> Iterator[str]:
    """The words of a task, those that name a component which wires end at by what it is.

    What is done stands before its name or behind it; a name with another word to it is another
    thing: `headlamp bracket`.
    """
    points = {pin.point for wire in book.wires for pin in (wire.start, wire.finish)}
    names = [_in_order(point) for point in points]
    for phrase in phrases:
        for start, end in ((0, len(phrase)), (1, len(phrase)), (0, len(phrase) - 1)):
            name = phrase[start:end]
            if any(_is_called(name, of) for of in names):
                is_heavy = _OF_THE_ENGINE & {*_forms(_what_it_is(name))}
                yield from (*phrase[:start], _MACHINERY if is_heavy else _COMPONENT, *phrase[end:])
                break
        else:
            yield from phrase


def _is_called(typed: Sequence[str], name: Sequence[str]) -> bool:
    """The whole name, or some of its words and among them the one that says what it is."""
    if "".join(name) in _forms("".join(typed)):
        return True
    is_of_it = all({*_forms(word)} & {*name} for word in typed)
    return is_of_it and bool(typed) and _what_it_is(name) in _forms(_what_it_is(typed))


def _what_it_is(name: Sequence[str]) -> str:
    """The last word before marks such as `FL` or `2`."""
    return next((word for word in reversed(name) if len(word) > _MARK), "")


# ----------------------------------------------------------------------------------- words


def _phrases(task: str) -> Iterator[Sequence[str]]:
    """The words of a task without those that say nothing, parted by these and by commas."""
    text = _WHICH_LOOM.sub("", task.casefold())
    for part in re.split(r"[^\w\s]", text):
        for says_nothing, words in groupby(_in_order(part), _says_nothing):
            if not says_nothing:
                yield [*words]


def _says_nothing(word: str) -> bool:
    return word in _FILLERS or word.isdecimal()


def _in_order(text: str) -> list[str]:
    """The words of a text; a light is a lamp."""
    return re.findall(r"[^\W_]+", text.casefold().replace("light", "lamp"))


def _forms(word: str) -> Iterator[str]:
    """A word as typed, as one of several, and as what is done: `wrapping` is `wrap`."""
    yield from (word, word.removesuffix("s"), word.removesuffix("es"))
    stem = word.removesuffix("ing")
    if stem != word:
        yield from (stem, f"{stem}e", stem[:-1])
