"""The group's own papers, never published."""
