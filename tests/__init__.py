"""Tests of bom, one module a module of the package."""
