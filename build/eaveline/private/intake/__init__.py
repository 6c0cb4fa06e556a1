"""Intake: files read, cells checked, one state for every row."""
