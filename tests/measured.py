# SPDX-License-Identifier: AGPL-3.0-or-later
"""What one command costs, with everything that it starts."""

from __future__ import annotations

import json
import subprocess
import sys
from typing import NamedTuple


class Measured(NamedTuple):
    """How a command ended, and what it took."""

    returncode: int
    stdout: str
    stderr: str
    #: processor time of all its processes, in seconds
    cpu_s: float
    #: memory of its largest process, in MB of 1024 * 1024 bytes
    peak_mb: float


# A process in between: to us RUSAGE_CHILDREN would speak of all that we ever started, and a process that we start is
# taken to be as large as we are until it has become another program.
_BETWEEN = """
import json, resource, subprocess, sys
seconds, *command = json.loads(sys.argv[1])
done = subprocess.run(command, capture_output=True, text=True, stdin=subprocess.DEVNULL, timeout=seconds)
use = resource.getrusage(resource.RUSAGE_CHILDREN)
print(json.dumps([done.returncode, done.stdout, done.stderr, use.ru_utime + use.ru_stime, use.ru_maxrss / 1024]))
"""


def measured(*command: object, seconds: float | None = None) -> Measured:
    """Run *command*; after *seconds* it is killed and ``subprocess.CalledProcessError`` raised."""
    words = [sys.executable, "-c", _BETWEEN, json.dumps([seconds, *map(str, command)])]
    done = subprocess.run(words, stdout=subprocess.PIPE, text=True, check=True)
    return Measured(*json.loads(done.stdout))
