"""``python3 build``: set up on first use, then run the eaveline command.

Standard library only. Python 2 can read this file, so that it can say what it lacks.
"""

import os
import sys

import python_version

if __name__ == "__main__":
    python_version.refuse_old_python()
    import bootstrap

    # What to type next is told in the words that brought the person here.
    os.environ["EAVELINE_TYPED"] = "py build" if os.name == "nt" else "python3 build"
    sys.exit(bootstrap.start("runtime", ["-m", "eaveline"] + sys.argv[1:]))
