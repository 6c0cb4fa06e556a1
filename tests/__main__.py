"""``python3 tests``: set up on first use, then run pytest from the project's folder.

Standard library only. Python 2 can read this file, so that it can say what it lacks.
"""

import os
import sys

ROOT = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))

if __name__ == "__main__":
    sys.path.insert(0, os.path.join(ROOT, "build"))
    import python_version

    python_version.refuse_old_python()
    import bootstrap

    # pytest finds its settings from the current folder.
    os.chdir(ROOT)
    sys.exit(bootstrap.start("tests", ["-m", "pytest"] + sys.argv[1:]))
