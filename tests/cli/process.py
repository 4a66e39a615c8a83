"""The program as a process of its own, as a person starts it."""

import os
import re
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

PROGRAM = [sys.executable, "-W", "error", "-c", "from monitor.cli import main; main()"]
PATIENCE_S = 60.0


@contextmanager
def started(*arguments: str, **environment: str) -> Iterator["subprocess.Popen[str]"]:
    with subprocess.Popen(
        [*PROGRAM, *arguments],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1", **environment},
    ) as process:
        try:
            yield process
        finally:
            if process.poll() is None:
                process.kill()


def read_until(process: "subprocess.Popen[str]", pattern: str) -> "re.Match[str]":
    """The first printed line that matches; everything printed is shown where none does."""
    assert process.stdout is not None
    printed = []
    for line in process.stdout:
        printed.append(line)
        if found := re.search(pattern, line):
            return found
    raise AssertionError("".join(printed))


def wait_for(happened: Callable[[], object]) -> None:
    end = time.monotonic() + PATIENCE_S
    while not happened():
        assert time.monotonic() < end, "it did not happen"
        time.sleep(0.05)
