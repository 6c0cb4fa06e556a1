"""The buildings of a town, and which of them a record belongs to."""
