"""What the merged register says: evidence, effort."""
