"""Merging: rows that describe one thing become one."""
