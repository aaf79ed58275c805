"""The clock: all that asks for the day or the hour asks here, so that a test can play a quarter."""

from datetime import date, datetime


def now() -> datetime:
    """The moment by the clock of the machine, without a zone."""
    return datetime.now()


def today() -> date:
    """The day by that clock."""
    return now().date()
