"""The process of the solver: questions come in on stdin, answers go out on stdout, in JSON."""

import os
import sys

from msgspec import json

from bom.buy.solver.columns import cut
from bom.buy.solver.process import Asked
from bom.buy.solver.programme import solve
from bom.buy.solver.questions import CutAnswer, Programme, Solution


def serve() -> None:
    """Answer questions until stdin ends.  Banners of the library must not reach stdout."""
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)

    def say(answer: Solution | CutAnswer) -> None:
        answers.write(json.encode(answer) + b"\n")
        answers.flush()

    for line in sys.stdin.buffer:
        asked = json.decode(line, type=Asked)
        if isinstance(asked.question, Programme):
            say(solve(asked.question, asked.seconds, say))
        else:
            say(cut(asked.question, asked.seconds))


if __name__ == "__main__":
    serve()
