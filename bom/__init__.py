"""Parts, stock and price for the rewire of a motorcycle or other small vehicle."""

__version__ = "0.1.0"
