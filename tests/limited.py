"""Runs a command with bounded memory and processor time, and says how much it took. No clock is asked.

The bounds are those of a small computer: what a file is answered with must come in seconds and 300 MB.
"""

import subprocess
import sys
from typing import NamedTuple

import pytest

try:
    import resource
except ImportError:  # Windows has no such limits
    resource = None

MOST_MB = 300
_CPU_S = 60  # an answer takes one or two; several files share a process, and a slow computer needs room
_ADDRESSES = 3 << 30

# The child asks about itself. Where the system tells the peak of this one program, that is taken: the other figure
# includes what the parent held before the child began.
_ASK = """
import atexit, re, resource, sys
def peak_mb():
    try:
        return int(re.search(r"VmHWM:\\s+(\\d+)", open("/proc/self/status").read())[1]) // 1024
    except OSError:
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
atexit.register(lambda: print("peak", peak_mb(), file=sys.__stderr__))
"""


class Ran(NamedTuple):
    """What a limited command left: exit status, what it printed, what it complained, and its peak of memory."""

    status: int
    out: str
    err: str
    peak_mb: int


def python(code: str, *arguments: str, stdin: bytes = b"") -> Ran:
    """Run Python code in a process of its own under the limits."""
    if resource is None:
        pytest.skip("this system has no limits for a process")

    def limit() -> None:
        resource.setrlimit(resource.RLIMIT_CPU, (_CPU_S, _CPU_S))
        resource.setrlimit(resource.RLIMIT_AS, (_ADDRESSES, _ADDRESSES))

    command = [sys.executable, "-c", _ASK + code, *arguments]
    done = subprocess.run(command, input=stdin, capture_output=True, preexec_fn=limit)
    *err, last = done.stderr.decode(errors="replace").rstrip().splitlines() or [""]
    assert last.startswith("peak "), f"killed by a limit, exit status {done.returncode}: {[*err, last][-3:]}"
    return Ran(done.returncode, done.stdout.decode(errors="replace"), "\n".join(err), int(last.split()[1]))


def shell(*arguments: str, stdin: bytes = b"") -> Ran:
    """Run `python -m helpers` under the limits."""
    return python("from helpers.shell.main import main; sys.exit(main(sys.argv[1:]))", *arguments, stdin=stdin)
