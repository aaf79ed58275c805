"""Reading a job book and the house rules, every cell whatever stands in its neighbours.

`job_columns` knows what the columns are called, `job_sheets` and `job_rows` read the sheets,
`house_rules` the figures; `stock`, `prices` and `arrivals` read what the workshop has,
`supplier_list` and `matching` a supplier's list, `price_headings` finds its prices and
`supplier_names` whose it is.
"""

from bom.read.house_rules import make_rules, read_rules_file
from bom.read.job_columns import job_columns
from bom.read.jobs import columns_taken, job_named_in, read_job

__all__ = [
    "columns_taken",
    "job_columns",
    "job_named_in",
    "make_rules",
    "read_job",
    "read_rules_file",
]
