"""Estimates from counts, with their uncertainty: arrays in, numbers out, no records."""
