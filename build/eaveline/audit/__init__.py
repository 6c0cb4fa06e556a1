"""Reads the finished site as a stranger would."""
