"""Wishes to a test plan: how many specimens, in what order, on which rig."""
