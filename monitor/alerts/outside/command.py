"""A program of the person's own: the words on its standard input, no shell in between."""

import os
import signal
import subprocess

from monitor.alerts.channels import NotSent
from monitor.records import Message

PATIENCE_S = 20.0


class CommandChannel:
    """`argv` is the program and its words. Only the program's name is ever told."""

    name = "command"

    def __init__(self, argv: tuple[str, ...], patience_s: float = PATIENCE_S) -> None:
        self._argv, self._patience_s = argv, patience_s
        self._called = os.path.basename(argv[0])  # noqa: PTH119 # a word, not a path of ours

    def ready(self) -> None:
        """It is asked once it is run."""

    def send(self, message: Message) -> None:
        try:
            process = subprocess.Popen(
                self._argv,
                stdin=subprocess.PIPE,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                start_new_session=True,
            )
        except OSError as error:
            raise NotSent(
                f"The command {self._called} can't be run ({error.strerror}).",
                "Look at alerts.command in shop.toml: the program first, by its whole path.",
            ) from None
        with process:
            try:
                process.communicate(f"{message.text}\n".encode(), timeout=self._patience_s)
            except subprocess.TimeoutExpired:
                # What it started goes with it.
                os.killpg(process.pid, signal.SIGKILL)
                process.communicate()
                raise NotSent(
                    f"The command {self._called} did not end within {self._patience_s:.0f} s.",
                    "Let it hand the words on and end.",
                ) from None
        if process.returncode != 0:
            raise NotSent(
                f"The command {self._called} ended with {process.returncode}.",
                "Run it by hand with a line on its input, and see what it says.",
            )
