"""Work that is counted already, and typed once more on the Labour sheet: charged twice.

A task is told only where each of its words speaks of counted work.  `Crimp terminals` does;
`strip old loom`, `fit headlamp bracket` and `make battery box` are work of the owner's own.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import chain

from msgspec.structs import replace

from bom.trade.catalogue import Catalogue
from bom.trade.catalogue_rows import TaskWords
from bom.trade.job_book import JobBook
from bom.trade.problem import Problem, caution

_FIT = "fit"
_WHOLE = "loom"
"""The row of catalogs/tasks.csv that means every operation."""
_FEW = 3
_MARK = 2
_FILLERS = frozenset(
    (
        *("a", "all", "an", "and", "at", "complete", "each", "every", "for", "in", "new", "of"),
        *("on", "the", "to", "up", "whole"),
    )
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
    for row in book.labour:
        meant = _operations_in(row.task, book, catalogue.task_words)
        found = list(hours) if _WHOLE in meant else [name for name in hours if name in meant]
        if found and meant <= {_WHOLE, *found}:
            names = ", ".join(found) if len(found) <= _FEW else f"{len(found)} operations"
            took = round(float(sum(hours[name] for name in found)), 2)
            says = f"'{row.task}' is counted already: {names}, {took:g} h"
            cure = "no row for it, or in its name what else it is"
            yield caution(row.row.where("task"), says, cure, alike="tasks are counted already")


def _operations_in(task: str, book: JobBook, known: Iterable[TaskWords]) -> set[str]:
    """The operations that a task is made of; none where a word of it speaks of something else."""
    rows = [_with_components(row, task, book) if row.operation == _FIT else row for row in known]
    words = {_as_known(word, rows) for word in _words(task)}
    done = [row for row in rows if row.does & words and row.things & words]
    alone = words == {_FIT}  # beside other words it is what is done to those: `fit covers`
    named = [r for r in rows if _words(r.operation) <= words and (alone or r.operation != _FIT)]
    for found in (done, [*done, *named]):
        if words <= set(chain.from_iterable(row.words for row in found)):
            return {row.operation for row in found}
    return set()


def _with_components(fit: TaskWords, task: str, book: JobBook) -> TaskWords:
    """With the names of components that wires end at, where the task says what they are.

    That is the last word of a name, before marks such as `FL` or `2`.
    """
    typed = {form for word in _words(task) for form in _forms(word)}
    points = {pin.point for wire in book.wires for pin in (wire.start, wire.finish)}
    names = [*map(_in_order, points)]
    met = (name for name in names if typed & {_what_it_is(name), "".join(name)})
    return replace(fit, things=fit.things.union(*({*name, "".join(name)} for name in met)))


def _what_it_is(name: Sequence[str]) -> str:
    return next((word for word in reversed(name) if len(word) > _MARK), "")


def _as_known(word: str, rows: Iterable[TaskWords]) -> str:
    known = frozenset[str]().union(*(row.words for row in rows))
    return next((form for form in _forms(word) if form in known), word)


def _words(text: str) -> set[str]:
    return {word for word in _in_order(text) if word not in _FILLERS}


def _in_order(text: str) -> list[str]:
    return re.findall(r"[^\W_]+", text.casefold())


def _forms(word: str) -> Iterator[str]:
    """A word as typed, as one of several, and as what is done: `wrapping` is `wrap`."""
    yield from (word, word.removesuffix("s"), word.removesuffix("es"))
    stem = word.removesuffix("ing")
    if stem != word:
        yield from (stem, f"{stem}e", stem[:-1])
