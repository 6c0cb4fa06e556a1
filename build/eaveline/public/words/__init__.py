"""Figures, squares and dates in words."""
