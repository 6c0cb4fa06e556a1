"""Where the next free boxes stand the best chance, and why."""
