r"""Sets up the workbook and opens it: python3 helpers/start.py (Windows: py helpers\start.py).

This file only asks how old the Python is. It is written so that even Python 2.7 can read it and answer
with a sentence; all else is in setting_up.py.
"""

import os
import runpy
import sys

if __name__ == "__main__":
    if sys.version_info < (3, 11):  # noqa: UP036 -- an old Python is the very one meant
        sys.exit(
            "This workbook needs Python 3.11 or newer; this is Python %d.%d. "  # noqa: UP031
            "Get a newer one from your system's packages or from python.org, then run this again with it."
            % sys.version_info[:2]
        )
    sys.path[0] = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
    runpy.run_module("helpers.setting_up", run_name="__main__")
