"""`python -m helpers`: the shell, see `helpers.shell`."""

import sys

from helpers.shell.main import main

if __name__ == "__main__":
    sys.exit(main())
