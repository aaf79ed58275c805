"""The desk: the workshop in a browser, beside the spreadsheet and at the drawer.

    door -> guard (who asks, from where, how much) -> pages (are read) | changes (are booked)

`pages` show what the commands answer, made anew from the books (`at_hand`, which notices when one
was saved); `changes` go through the stock room as every command does: its lock, Moves, undo.
`guests` knows who was let in, `entrance` lets them in; `app` has every address.
"""

import sys
from pathlib import Path
from typing import Annotated

import typer

from bom.cli.jobs import app
from bom.cli.screen import echo, echo_table
from bom.cli.tell import refuse


@app.command(epilog="Example: bom desk")
def desk(
    lan: Annotated[
        bool,
        typer.Option("--lan", help="Let phones of this network in, by a code that is shown here."),
    ] = False,
    no_browser: Annotated[
        bool, typer.Option("--no-browser", help="Open no browser: only tell the address.")
    ] = False,
) -> None:
    """Open the workshop in a browser: what is due, jobs beside the spreadsheet, drawer, orders.

    A job is worked anew when its book is saved.  What is counted, taken, put in or received goes
    into the stock book as by the commands, and `bom stock undo` reverses it.  Only this machine
    can open it; with --lan those who have the code, new at each start: what they send and see
    goes through the network in the clear, so use it in your own.
    """
    from bom.cli.desk.door import opened
    from bom.job import find_workshop

    workshop = find_workshop(Path.cwd())
    if workshop.folder is None:
        refuse("there is no workshop here", "bom new workshop PATH")
    try:
        door = opened(workshop.folder, lan=lan)
    except OSError as fault:
        refuse(f"the desk cannot be opened: {fault}", "bom desk" if lan else "")
    from bom.cli.desk.server import Desk

    served = Desk(workshop.folder, door)
    echo(f"the desk of {workshop.folder.name}: {door.url}")
    if lan:
        echo_table(served.code_picture())
        echo(f"for phones: {door.lan_url} with the code {served.code}, or this picture")
    echo("to close it: Ctrl-C")
    sys.stdout.flush()
    served.run(browser=not no_browser)
    echo("the desk is closed")
