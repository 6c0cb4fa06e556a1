"""Ottersley, an invented town on the open sea, with the records of an invented group.

The generator draws the map, lives through eight seasons, then lets fourteen members write down
what they saw in their own habits, faults included. It writes only into survey_data/; what it
knows to be true stays in Python (`demo_town.truth.truth`), for tests to compare with.
"""
