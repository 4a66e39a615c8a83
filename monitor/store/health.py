"""What stands in the way right now, for the page and the log: two lines each."""


class Health:
    """Troubles by what they trouble (`readings`, `backup`, `clock`). Any thread may say or ask."""

    def __init__(self) -> None:
        self._troubles: dict[str, tuple[str, str]] = {}

    def say(self, of: str, lines: tuple[str, str]) -> bool:
        """What is wrong and what to do. Whether it is another trouble than before."""
        before = self._troubles.get(of)
        self._troubles[of] = lines
        return before is None or before[1] != lines[1]

    def well(self, of: str) -> bool:
        """It goes again. Whether something was wrong with it."""
        return self._troubles.pop(of, None) is not None

    def stands(self, of: str) -> bool:
        return of in self._troubles

    def troubles(self) -> tuple[tuple[str, str], ...]:
        # A copy first: another thread may add one meanwhile.
        return tuple(dict(self._troubles).values())
