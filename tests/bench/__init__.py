"""Measurements: run by hand, never by the tests, as ratios within one run."""
