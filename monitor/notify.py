"""Tells the service manager how it goes: ready, alive, stopping.

Source: sd_notify(3) of systemd, an open protocol: lines of text in one datagram to a socket whose
address the manager gives.
"""

import socket


class Notifier:
    """Speaks to the manager's socket; `address` None: there is no manager, and nothing is said."""

    def __init__(self, address: str | None) -> None:
        # An address that starts with @ lies in the kernel's own names, where it starts with a 0.
        self._address = None if not address else address.replace("@", "\0", 1)

    def ready(self) -> None:
        self._say("READY=1")

    def alive(self) -> None:
        self._say("WATCHDOG=1")

    def stopping(self) -> None:
        self._say("STOPPING=1")

    def _say(self, line: str) -> None:
        if self._address is None:
            return
        with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM | socket.SOCK_CLOEXEC) as manager:
            try:
                manager.connect(self._address)
                manager.sendall(line.encode())
            except OSError:
                # A manager that doesn't listen restarts whom it doesn't hear; that is its part.
                return


def beats_every_s(watchdog_us: str | None) -> float | None:
    """How often to say so, by what the manager gives as its patience: twice within it.

    None: it has none.
    """
    if watchdog_us is None or not watchdog_us.isascii() or not watchdog_us.isdigit():
        return None
    patience_s = int(watchdog_us) / 1e6
    return patience_s / 2.0 if patience_s > 0.0 else None
