"""Reckoning: from a job book that was read to everything the job needs."""
