"""`python -m bom.cli`."""

from bom.cli import main

main()
