"""Stresses to sample, sample to fit, fit to lower bound."""
