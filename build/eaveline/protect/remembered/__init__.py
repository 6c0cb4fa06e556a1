"""What one release leaves for the next, so that both together tell no more than each."""
