"""`python -m bom.cli`."""

from bom.cli import main

if __name__ == "__main__":
    main()
