"""Capacity against demand: pass, fail or undecided."""
