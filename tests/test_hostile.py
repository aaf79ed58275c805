"""Books that nobody means well with: `tests/bench/hostile.py`, a few here and 10,000 on demand."""

import subprocess
import sys

import pytest

from tests.test_cli import ROOT


def attacked(books: int, seed: int) -> subprocess.CompletedProcess[str]:
    """What the fuzzer says, as a process of its own."""
    command = [sys.executable, "-m", "tests.bench.hostile", f"--books={books}", f"--seed={seed}"]
    return subprocess.run(command, capture_output=True, text=True, cwd=ROOT, check=False)


@pytest.mark.parametrize("seed", [3, 14])
def test_a_few_hundred_books_do_no_harm(seed: int) -> None:
    """No traceback and no changed file; the seed is told."""
    done = attacked(150, seed)
    assert f"seed {seed}: 150 books" in done.stdout, done.stderr
    assert "0 tracebacks, 0 changed files" in done.stdout, done.stderr


@pytest.mark.slow
def test_ten_thousand_books_do_no_harm() -> None:
    """Within 2 s and 300 MB each as well."""
    done = attacked(10_000, 2026)
    assert done.returncode == 0, done.stdout + done.stderr[-2000:]
    assert "0 tracebacks, 0 changed files" in done.stdout
