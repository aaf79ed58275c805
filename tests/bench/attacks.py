"""Mutated books through the commands: no traceback, no harm, no command that takes long.

    python -m tests.bench.attacks --books 2000 --seed 11

Each book of a workshop in turn is mutated as `tests.bench.hostile` does it, and goes through two of
the commands that would read it.  What is looked for: an answer or a sentence, and a code of 0, 1 or
2; where it is refused every file is as it was; no command takes more CPU than `MOST_CPU_S` by the
yardstick, its own processes counted in.
"""

import argparse
import random
import resource
import shutil
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path

from msgspec import Struct

from tests.bench.hostile import grid_of, turned
from tests.bench.yardstick import too_long
from tests.within import ROOT, bom

MOST_CPU_S = 5.0
SHOP = ROOT / "sample_projects" / "workshop"
ORDER = 'supplier,item,sold as,pack,packs,price\nExample,"bullet cover, male",pack,10,2,0.9\n'
ADD = ("prices", "add", "list.xlsx", "--supplier", "Example Cable Co.")
OF_A_JOB = (
    ("check", "single"),
    ("takeoff", "single"),
    ("cut", "single"),
    ("quote", "single"),
    ("why", "single", "total"),
    ("pack", "single", "--out", "papers"),
    ("done", "single", "--yes"),
    ("new", "job", "next", "--like", "single"),
)
OF_THE_SHELF = (
    ("order", "single", "--topup"),
    ("topup", "--learn", "--yes"),
    ("stock", "show", "--rebuild"),
    ("stock", "count", "bullet cover, male", "7"),
    ("stock", "hold", "single", "--yes"),
    ("stock", "issue", "single", "--part", "--yes"),
    ("stock", "undo", "--yes"),
)
OF_PRICES = (("order", "single"), ("topup",), ("prices", "show"), ADD)
READ_BY: dict[str, Sequence[tuple[str, ...]]] = {
    "jobs/single.xlsx": OF_A_JOB,
    "stock.xlsx": OF_THE_SHELF,
    "prices.xlsx": OF_PRICES,
    "suppliers.xlsx": OF_PRICES,
    "list.xlsx": (ADD,),
    "order.xlsx": (("stock", "receive", "order.xlsx", "--yes"),),
    "used/single.xlsx": (("done", "single", "--yes"), ("learn",)),
}
"""The books, and the commands that read each."""


class Attack(Struct, frozen=True):
    """A mutated book and a command: its exit code, CPU seconds, and what was wrong with it."""

    number: int
    book: str
    words: tuple[str, ...]
    code: int
    cpu_s: float
    wrong: str


def attacks(books: int, seed: int) -> Iterator[Attack]:
    """So many books, each through two of the commands that read it."""
    dice = random.Random(seed)
    with tempfile.TemporaryDirectory() as place:
        sound = _sound(Path(place) / "sound")
        bases = {name: (grid_of(sound / name), (sound / name).read_bytes()) for name in READ_BY}
        for number in range(books):
            name = dice.choice(list(READ_BY))
            grid, data = bases[name]
            shop = Path(place) / "shop"
            shutil.copytree(sound, shop)
            (shop / name).write_bytes(turned(grid, data, dice))
            for words in dice.sample(READ_BY[name], min(2, len(READ_BY[name]))):
                yield _attack(shop, number, name, words)
            shutil.rmtree(shop)


def _sound(shop: Path) -> Path:
    """A workshop with everything that a command may read."""
    shutil.copytree(SHOP, shop)
    bom("order", "single", "--topup", "--xlsx", "order.xlsx", cwd=shop)
    bom("stock", "hold", "single", "--yes", cwd=shop)
    bom("done", "single", cwd=shop)
    shutil.copy(shop / "prices.xlsx", shop / "list.xlsx")
    return shop


def _attack(shop: Path, number: int, name: str, words: tuple[str, ...]) -> Attack:
    before, begun = _contents(shop), _cpu_s()
    try:
        done = bom(*words, cwd=shop)
    except Exception as fault:  # a traceback: what is looked for
        return Attack(number, name, words, -1, _cpu_s() - begun, f"{type(fault).__name__}: {fault}")
    cpu_s = _cpu_s() - begun
    wrong = ""
    if done.returncode not in (0, 1, 2) or "Traceback" in done.stderr:
        wrong = f"ends with {done.returncode}"
    elif longer := too_long(cpu_s, MOST_CPU_S):
        wrong = longer
    elif done.returncode and not done.stderr:
        wrong = "says nothing"
    elif done.returncode and _contents(shop) != before:
        wrong = "refused, and something was written"
    return Attack(number, name, words, done.returncode, cpu_s, wrong)


def _contents(shop: Path) -> dict[str, bytes]:
    files = (path for path in shop.rglob("*") if path.is_file() and ".bom" not in path.parts)
    return {str(path.relative_to(shop)): path.read_bytes() for path in files}


def _cpu_s() -> float:
    used = (resource.getrusage(w) for w in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return sum(one.ru_utime + one.ru_stime for one in used)


def main() -> None:
    """Print what was wrong, and how the commands ended."""
    parser = argparse.ArgumentParser(description="Mutated books through the commands.")
    parser.add_argument("--books", type=int, default=2_000)
    parser.add_argument("--seed", type=int, default=11)
    asked = parser.parse_args()
    codes, worst = Counter[tuple[str, int]](), 0.0
    wrong = 0
    for one in attacks(asked.books, asked.seed):
        codes[" ".join(one.words[:2]), one.code] += 1
        worst = max(worst, one.cpu_s)
        if one.wrong:
            wrong += 1
            print(one.number, one.book, " ".join(one.words), one.wrong, sep=" | ", flush=True)
    print(f"{codes.total()} commands, {wrong} wrong, the longest {worst:.1f} s CPU")
    print(", ".join(f"{name}: {code} x {n}" for (name, code), n in sorted(codes.items())))
    sys.exit(bool(wrong))


if __name__ == "__main__":
    main()
