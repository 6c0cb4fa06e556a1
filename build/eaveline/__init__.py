"""Eaveline: a swift and house martin group's survey CSVs become its published colony site."""

__version__ = "0.1.0"
