"""`python -m helpers`: the shell, see `helpers.shell`."""

import sys

if __name__ == "__main__":
    try:
        from helpers.shell.main import main

        status = main()
    except KeyboardInterrupt:  # while the program itself was still being read
        status = 130
    sys.exit(status)
