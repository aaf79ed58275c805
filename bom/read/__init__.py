"""Reading a job book and the house rules, every cell whatever stands in its neighbours.

`columns` knows what the columns are called, `book` reads the sheets, `rules` the figures.
"""

from bom.read.house_rules import make_rules, read_rules_file
from bom.read.job_columns import job_columns
from bom.read.job_sheets import columns_taken, read_job

__all__ = [
    "columns_taken",
    "job_columns",
    "make_rules",
    "read_job",
    "read_rules_file",
]
