"""Clean copies of what a group puts into content/, made before anything is published."""
