"""What a group does around a build: start a town, preview it, publish it."""
