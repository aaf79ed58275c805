"""Work that is counted already, and typed once more on the Labour sheet: charged twice.

A task is told only where each of its words speaks of counted work.  `Crimp terminals` does;
`strip old loom`, `fit headlamp bracket` and `make battery box` are work of the owner's own.
"""

import re
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence, Set
from fractions import Fraction
from itertools import chain, groupby

from msgspec import Struct

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


class _Spoken(Struct, frozen=True):
    """What a task may speak of: counted operations, and components that wires end at.

    `whole` are names of components in one word; `by_what` has their words by what they are.
    """

    rows: Sequence[TaskWords]
    words: frozenset[str]
    whole: frozenset[str]
    by_what: Mapping[str, Set[str]]


def typed_twice(
    book: JobBook, counts: Mapping[str, Fraction], catalogue: Catalogue
) -> Iterator[Problem]:
    """Cautions for rows of the Labour sheet whose work is counted already."""
    hours = {
        name: count * catalogue.labour[name].minutes / 60
        for name, count in counts.items()
        if name in catalogue.labour and count * catalogue.labour[name].minutes
    }
    spoken = _spoken(book, catalogue.task_words)
    told = [
        (row, found)
        for row in book.labour
        if (found := _counted(_operations_in(row.task, spoken), hours))
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


def _operations_in(task: str, spoken: _Spoken) -> set[str]:
    """The operations that a task is made of; none where a word of it speaks of something else."""
    phrases = [*_phrases(task)]
    return _meant(chain(*phrases), spoken) or _meant(_with_components(phrases, spoken), spoken)


def _meant(typed: Iterable[str], spoken: _Spoken) -> set[str]:
    """Those of the rows that speak of every word alone, else of several together."""
    words = {next((f for f in _forms(word) if f in spoken.words), word) for word in typed}
    if not words or not words <= spoken.words:
        return set()
    done = [row for row in spoken.rows if row.does & words and row.things & words]
    named = [row for row in spoken.rows if row.called & words or _is_named(row.operation, words)]
    alone = [row for row in (*done, *named) if words <= row.words]
    for rows in (alone, done, [*done, *named]):
        if words <= set(chain.from_iterable(row.words for row in rows)):
            return {row.operation for row in rows}
    return set()


def _is_named(operation: str, words: Collection[str]) -> bool:
    """By all words of its name; beside others `fit` is what is done to those: `fit covers`."""
    return {*operation.split()} - _FILLERS <= {*words} and (operation != _FIT or {*words} == {_FIT})


# ------------------------------------------------------------------------------ components


def _spoken(book: JobBook, rows: Sequence[TaskWords]) -> _Spoken:
    points = {pin.point for wire in book.wires for pin in (wire.start, wire.finish)}
    names = [_in_order(point) for point in points]
    by_what: dict[str, set[str]] = defaultdict(set)
    for name in names:
        by_what[_what_it_is(name)].update(name)
    words = frozenset[str]().union(*(row.words for row in rows))
    return _Spoken(rows, words, frozenset(map("".join, names)), by_what)


def _with_components(phrases: Iterable[Sequence[str]], spoken: _Spoken) -> Iterator[str]:
    """The words of a task, those that name a component which wires end at by what it is.

    What is done stands before its name or behind it; a name with another word to it is another
    thing: `headlamp bracket`.
    """
    for phrase in phrases:
        for start, end in ((0, len(phrase)), (1, len(phrase)), (0, len(phrase) - 1)):
            name = phrase[start:end]
            if name and _is_component(name, spoken):
                yield from (*phrase[:start], _sort_of(_what_it_is(name), spoken), *phrase[end:])
                break
        else:
            yield from phrase


def _sort_of(what: str, spoken: _Spoken) -> str:
    """A word for a component: its own where an operation has it, such as `plug` or `splice`."""
    heavy = not _OF_THE_ENGINE.isdisjoint(_forms(what))
    own = (form for form in _forms(what) if any(form in row.things for row in spoken.rows))
    return next(own, _MACHINERY if heavy else _COMPONENT)


def _is_component(typed: Sequence[str], spoken: _Spoken) -> bool:
    """A whole name, or what it is with other words of components that are the same."""
    if not spoken.whole.isdisjoint(_forms("".join(typed))):
        return True
    same = (spoken.by_what.get(what, frozenset()) for what in _forms(_what_it_is(typed)))
    return any(of and all(not of.isdisjoint(_forms(word)) for word in typed) for of in same)


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
