"""Lets ``python -m eaveline`` run the command."""

from eaveline.cli import main

if __name__ == "__main__":
    main()
