"""The command line: options in, one job of work, tables or JSON out, an exit code.

Nothing heavy is imported before a command runs, so that help comes at once.
"""

import sys

_STOPPED = 130
"""The exit code of what the owner stopped: 128 and the number of the signal (common practice)."""


def main() -> None:
    """Entry point of the `bom` command; the owner may stop it even while it loads."""
    try:
        from bom.cli.program import run

        run()
    except KeyboardInterrupt:
        sys.stderr.write("stopped\n")
        sys.exit(_STOPPED)
