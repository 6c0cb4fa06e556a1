"""The public side: it cannot hold an exact place, and imports nothing that can."""
