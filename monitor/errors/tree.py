"""What can go wrong, each with what to do about it. Two lines reach the person: what, remedy."""


class MonitorError(Exception):
    """The root. `what` says what is wrong, `remedy` what to do; both are whole sentences."""

    exit_code = 1

    def __init__(self, what: str, remedy: str) -> None:
        if not what.strip() or not remedy.strip():
            raise ValueError("an error needs both what is wrong and what to do")
        super().__init__(what)
        self.what = what
        self.remedy = remedy

    def lines(self) -> tuple[str, str]:
        return self.what, self.remedy


class BadInput(MonitorError):
    """What the person or a file gave can't be used."""

    exit_code = 2


class SheetError(BadInput):
    """A sheet can't be used: every problem at once, `key: value: remedy`."""

    def __init__(self, what: str, remedy: str, problems: tuple[str, ...]) -> None:
        super().__init__(what, remedy)
        self.problems = problems


class HostError(MonitorError):
    """The machine stands in the way: a port, a disk, a database."""

    exit_code = 3


class PortError(HostError):
    """A serial port can't be opened or read."""


class StoreError(HostError):
    """The database can't be opened, read or written."""
