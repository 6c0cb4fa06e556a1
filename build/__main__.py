"""``python3 build``: set up on first use, then run the eaveline command.

Standard library only. Python 2 can read this file, so that it can say what it lacks.
"""

import sys

import python_version

if __name__ == "__main__":
    python_version.refuse_old_python()
    import bootstrap

    sys.exit(bootstrap.start("runtime", ["-m", "eaveline"] + sys.argv[1:]))
