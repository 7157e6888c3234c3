"""Runs the commands that stand on its input, a JSON list a line, one after another, and prints for each its exit code,
the processor time that it took in seconds, and the most memory that it had in MB."""

import json
import os
import resource
import sys

# Far above what is allowed, so that a test which fails does so soon and alone.
MOST_BYTES = 2 * 1024**3
MOST_SECONDS = 20

for line in sys.stdin:
    command = json.loads(line)
    child = os.fork()
    if child == 0:
        resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
        resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS))
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 1)
        os.dup2(nowhere, 2)
        os.execv(command[0], command)
    _, status, used = os.wait4(child, 0)
    # A child that a signal ended has a negative code.
    code = os.waitstatus_to_exitcode(status)
    print(json.dumps([code, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024]), flush=True)
