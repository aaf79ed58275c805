"""One command as a process of its own: its output, CPU seconds and most memory.

A process is charged with the memory of the one that started it until it begins (Linux keeps the
mark over exec).  Between the tests, which have read much, and the command stands therefore this
file as a bare Python of its own, which does nothing but start it and wait.
"""

import json
import os
import resource
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

CPU_SECONDS, ADDRESSES = 300, 8 * 1024**3
"""No command may have more: a test that goes wrong does not take the machine with it."""


@dataclass(frozen=True, slots=True)
class Alone:
    """What a command said and took."""

    code: int
    out: str
    err: str
    cpu_s: float
    peak_mb: float


def alone(*command: object, cwd: Path, env: Mapping[str, str]) -> Alone:
    """Run a command to its end; below zero, `code` is the signal that ended it."""
    with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err:
        report = subprocess.run(
            [sys.executable, "-I", "-S", __file__, str(err.fileno()), str(out.fileno())]
            + [str(word) for word in command],
            stdout=subprocess.PIPE,
            pass_fds=(out.fileno(), err.fileno()),
            cwd=cwd,
            env=dict(env),
            check=True,
        )
        code, cpu_s, peak_mb = json.loads(report.stdout)
        out.seek(0)
        err.seek(0)
        said, told = (f.read().decode(errors="backslashreplace") for f in (out, err))
    return Alone(code, said, told, cpu_s, peak_mb)


def _bounded() -> None:
    resource.setrlimit(resource.RLIMIT_CPU, (CPU_SECONDS, CPU_SECONDS + 1))
    resource.setrlimit(resource.RLIMIT_AS, (ADDRESSES, ADDRESSES))


def peak_mb(used: resource.struct_rusage | None = None) -> float:
    """The most memory at once that a process had, or this one has had so far."""
    most = (used or resource.getrusage(resource.RUSAGE_SELF)).ru_maxrss
    return most / (1024 * 1024 if sys.platform == "darwin" else 1024)


def main() -> None:
    """Start the command of the arguments, wait for it, and print what it took."""
    err, out, *command = sys.argv[1:]
    process = subprocess.Popen(command, stdout=int(out), stderr=int(err), preexec_fn=_bounded)
    _, status, used = os.wait4(process.pid, 0)
    taken = used.ru_utime + used.ru_stime, peak_mb(used)
    print(json.dumps([os.waitstatus_to_exitcode(status), *taken]))


if __name__ == "__main__":
    main()
