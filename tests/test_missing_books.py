"""Books of the workshop that are not where they belong are told first, never taken for empty."""

import json
import os
import shutil
from pathlib import Path

import pytest

from tests.within import ROOT, bom

SHOP = ROOT / "sample_projects" / "workshop"
OF_THE_SHELF = (
    ("order", "single"),
    ("cut", "single"),
    ("quote", "single"),
    ("pack", "single", "--out", "papers"),
    ("why", "single", "blade cover, 6.3 mm, female"),
)
ON_THE_SHELF = (
    ("topup",),
    ("topup", "--learn"),
    ("stock", "show"),
    ("stock", "hold", "single"),
    ("stock", "issue", "single"),
    ("stock", "count", "bullet cover, male", "40"),
    ("stock", "undo"),
)
BY_THE_PRICES = (
    *(("order", "single"), ("quote", "single"), ("topup",)),
    ("prices", "show"),
)


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """The workshop of the samples, to be spoilt."""
    return shutil.copytree(SHOP, tmp_path / "shop")


def total(folder: Path) -> str:
    """What the order for a job comes to."""
    answer = json.loads(bom("order", "single", "--json", cwd=folder).stdout)
    return str(answer["total"])


@pytest.mark.parametrize("name", ["Stock.xlsx", "stock.XLSX", "STOCK.Xlsx"])
def test_a_book_is_known_in_other_letters(name: str, shop: Path) -> None:
    """As on a disk that takes no notice of them, or where another program saved it so."""
    as_it_was = total(shop)
    (shop / "stock.xlsx").rename(shop / name)
    assert total(shop) == as_it_was
    done = bom("stock", "count", "bullet cover, male", "40", cwd=shop)
    assert done.returncode == 0, done.stderr
    assert (shop / name).exists()
    assert [path.name for path in shop.glob("[Ss]*.*")].count("stock.xlsx") == (
        name == "stock.xlsx"
    )


def test_everything_else_is_known_in_other_letters(shop: Path) -> None:
    """House rules, price list, suppliers, the folder of jobs, and a job."""
    as_it_was = total(shop)
    for name in ("workshop.toml", "prices.xlsx", "suppliers.xlsx", "jobs"):
        (shop / name).rename(shop / name.upper())
    (shop / "JOBS" / "single.xlsx").rename(shop / "JOBS" / "Single.XLSX")
    assert total(shop) == as_it_was


@pytest.mark.parametrize("command", OF_THE_SHELF, ids=lambda words: words[0])
def test_without_a_stock_book_the_first_word_says_so(command: tuple[str, ...], shop: Path) -> None:
    """And what the shelf is taken for."""
    (shop / "stock.xlsx").unlink()
    told = bom(*command, cwd=shop).stderr
    assert told.startswith(
        "caution: this workshop has no stock book: its shelf is taken as empty\n"
    )


@pytest.mark.parametrize("command", ON_THE_SHELF, ids=" ".join)
def test_without_a_stock_book_the_shelf_is_not_asked(command: tuple[str, ...], shop: Path) -> None:
    """No answer that would look like one."""
    (shop / "stock.xlsx").rename(shop / "stock book.xlsx")
    done = bom(*command, cwd=shop)
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr.startswith(
        "error: this workshop has no stock book\n"
        "    try: the name stock.xlsx for 'stock book.xlsx', if that is it\n"
    )


@pytest.mark.parametrize("command", BY_THE_PRICES, ids=" ".join)
def test_without_prices_the_first_word_says_so(command: tuple[str, ...], shop: Path) -> None:
    """Both books that an order is priced by, in one sentence."""
    (shop / "prices.xlsx").unlink()
    (shop / "suppliers.xlsx").unlink()
    told = bom(*command, cwd=shop).stderr
    says = "this workshop has no price list and no list of suppliers: nothing has a price, "
    assert told.startswith(f"caution: {says}")


@pytest.mark.skipif(os.name == "nt", reason="links need a right of their own there")
@pytest.mark.parametrize("book", ["stock", "prices", "suppliers"])
def test_a_link_to_a_share_that_is_not_mounted_stops_it(book: str, shop: Path) -> None:
    """Its owner has such a book; nothing is made in its place."""
    path = shop / f"{book}.xlsx"
    path.unlink()
    path.symlink_to("/mnt/office/books.xlsx")
    says = f"error: {path.name}: is a link to '/mnt/office/books.xlsx', and there is nothing\n"
    commands = ON_THE_SHELF if book == "stock" else BY_THE_PRICES
    adds = ("prices", "add", "lists/factors.csv", "--supplier", "Example Motor Factors")
    for command in (*OF_THE_SHELF[:-1], *commands, *(() if book == "stock" else (adds,))):
        done = bom(*command, cwd=shop)
        assert done.returncode == 1, command
        assert says in done.stderr, command
        assert "Traceback" not in done.stderr
    assert path.is_symlink()
    assert not list(shop.glob("papers/*"))


def test_what_is_due_tells_of_it_too(shop: Path) -> None:
    """`bom` alone."""
    (shop / "stock.xlsx").unlink()
    assert "this workshop has no stock book" in bom(cwd=shop).stdout


@pytest.mark.skipif(os.name == "nt", reason="links need a right of their own there")
@pytest.mark.parametrize("where", ["/mnt/office/it", "itself"])
@pytest.mark.parametrize("name", ["workshop.toml", "catalogs", "jobs", "done.csv", "answers.csv"])
def test_what_else_is_a_link_to_nothing_is_told_too(name: str, where: str, shop: Path) -> None:
    """On another disk, or to itself: an error with its name wherever the workshop is asked."""
    path = shop / name
    if path.exists():
        path.rename(shop / "as it was")
    path.symlink_to(name if where == "itself" else where)
    for command in (("order", "single"), ("quote", "single"), ("topup",), ("stock", "show")):
        done = bom(*command, cwd=shop)
        assert done.returncode == 1 and f"error: {name}: is a link to '" in done.stderr, command


@pytest.mark.skipif(os.name == "nt", reason="links need a right of their own there")
@pytest.mark.parametrize("book", ["stock", "prices", "suppliers", "jobs/single"])
def test_a_link_to_itself_is_no_traceback(book: str, shop: Path) -> None:
    """ELOOP of POSIX: the path leads nowhere."""
    path = shop / f"{book}.xlsx"
    path.unlink()
    path.symlink_to(path.name)
    count = ("stock", "count", "bullet cover, male", "40")
    for command in (("order", "single"), ("topup",), count):
        done = bom(*command, cwd=shop)
        assert done.returncode == 0 or "and there is nothing" in done.stderr, command
    assert bom("order", "single", cwd=shop).returncode == 1


def test_of_two_books_of_one_name_it_is_told_which_is_read(shop: Path) -> None:
    """In another kind beside it: which of them is the owner's, nobody can know."""
    shutil.copy(shop / "stock.xlsx", shop / "Stock.XLSM")
    told = bom("order", "single", cwd=shop).stderr
    assert "caution: stock.xlsx: Stock.XLSM beside it: stock.xlsx alone is read" in told
