"""The solver in a process of its own.

HiGHS's own time limit is not hard (it was measured to run on for five times as long), so that it
works in a child that is killed when its time is up.  The child tells every better answer of a
programme as it finds it: a kill loses the proof, not the best answer so far.  One thread, a fixed
seed and rows in the caller's order: same question, same answer.
"""

import contextlib
import os
import queue
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import TypeVar

from msgspec import Struct, json

from bom.buy.solver.questions import (
    INFINITE,
    NOTHING,
    UNKNOWN,
    CutAnswer,
    CutQuestion,
    Programme,
    Solution,
)

Answer = TypeVar("Answer", Solution, CutAnswer)

SOFT = 0.85
"""The child is told to end by itself after this share of its time: it then tells what it knows."""

GRACE_S = 0.5
"""So long a child may run over the time of a question, but not over that of all questions."""


class Asked(Struct, frozen=True):
    """A question, and the seconds that there are for it."""

    question: Programme | CutQuestion
    seconds: float


class Solver:
    """A child that answers one question after another until the seconds are used up.

    A child that runs over the time of one question is replaced for the next; one that
    dies by itself is not, as it would die again.
    """

    def __init__(self, seconds: float) -> None:
        self._deadline = time.monotonic() + seconds
        self._child: subprocess.Popen[bytes] | None = None
        self._lines: queue.SimpleQueue[bytes | None] = queue.SimpleQueue()
        self._dead = False

    def __enter__(self) -> "Solver":
        return self

    def __exit__(self, *_: object) -> None:
        self._kill()

    @property
    def seconds_left(self) -> float:
        """What is left of the time; 0 when no child will come of it."""
        return 0.0 if self._dead else max(0.0, self._deadline - time.monotonic())

    def solve(self, programme: Programme, *, seconds: float = INFINITE) -> Solution:
        """The least answer, or the best one known when the time is up or the child dies."""
        return self._ask(programme, seconds, NOTHING)

    def cut(self, question: CutQuestion, *, seconds: float = INFINITE) -> CutAnswer:
        """How to cut the pieces, or `UNKNOWN` when the time is up or the child dies."""
        return self._ask(question, seconds, UNKNOWN)

    def _ask(self, question: Programme | CutQuestion, seconds: float, nothing: Answer) -> Answer:
        self._start()
        child, limit = self._child, min(SOFT * self.seconds_left, seconds)
        if child is None or child.stdin is None or limit <= 0:
            return nothing
        end = min(self._deadline, time.monotonic() + limit + GRACE_S)
        try:
            child.stdin.write(json.encode(Asked(question, limit)) + b"\n")
            child.stdin.flush()
        except OSError:
            self._dead = True
            return nothing
        return self._listen(end, nothing)

    def _listen(self, end: float, best: Answer) -> Answer:
        """Better answers as they come, until the last word, the end of time or of the child."""
        while True:
            try:
                line = self._lines.get(timeout=max(0.0, end - time.monotonic()))
            except queue.Empty:
                self._kill()
                return best
            if line is None:
                self._dead = True
                return best
            best = json.decode(line, type=type(best))
            if best.last:
                return best

    def _start(self) -> None:
        if self._child or self.seconds_left <= 0:
            return
        # the child must find this very package, wherever it was imported from
        here = str(Path(__file__).resolve().parents[3])
        paths = os.pathsep.join(filter(None, (here, os.environ.get("PYTHONPATH"))))
        try:
            self._child = subprocess.Popen(
                [sys.executable, "-m", "bom.buy.solver"],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                env={**os.environ, "PYTHONPATH": paths, "OMP_NUM_THREADS": "1"},
            )
        except OSError:
            self._dead = True
            return
        self._lines = queue.SimpleQueue()
        threading.Thread(target=_pump, args=(self._child, self._lines), daemon=True).start()

    def _kill(self) -> None:
        child, self._child = self._child, None
        if child is None:
            return
        child.kill()
        child.wait()
        for stream in filter(None, (child.stdin, child.stdout)):
            with contextlib.suppress(OSError):
                stream.close()


def _pump(child: "subprocess.Popen[bytes]", lines: "queue.SimpleQueue[bytes | None]") -> None:
    """Carry the child's lines to the queue, and None when it says no more."""
    try:
        for line in child.stdout or ():
            lines.put(line)
    except ValueError:  # closed under our hands
        pass
    lines.put(None)
