"""Squares and streets as maps, moving and still."""
