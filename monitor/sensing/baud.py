"""Which baud rate a sensor speaks, where nobody said."""

from datetime import datetime, timedelta

USUAL_BAUDS = (9600, 115200, 4800, 38400, 19200)
"""9600 and 115200 are what hobby boards are set to; 4800 and 38400 are NMEA 0183's own."""

PATIENCE = timedelta(seconds=1)
PROVEN_PATIENCE = timedelta(minutes=10)


class BaudHunt:
    """Says when to try the next usual rate: garbage again and again, and no clean line.

    Garbage must come twice, a second apart: many boards start with one burst at another rate.
    A rate at which a reading has come through is given up only after ten minutes of garbage.
    """

    def __init__(self, baud: int | None = None) -> None:
        self._fixed = baud is not None
        self.baud = baud or USUAL_BAUDS[0]
        self._proven = False
        self._garbage_since: datetime | None = None

    def heard(self, at: datetime, *, clean: bool, garbage: bool, proven: bool) -> bool:
        """What one block held: a clean line, odd bytes, a reading.

        True: `baud` has moved on, set the port to it.
        """
        self._proven |= proven
        if clean:
            self._garbage_since = None
        elif garbage and self._garbage_since is None:
            self._garbage_since = at
        elif garbage and self._garbage_since is not None and not self._fixed:
            patience = PROVEN_PATIENCE if self._proven else PATIENCE
            if at - self._garbage_since >= patience:
                self._move_on()
                return True
        return False

    def _move_on(self) -> None:
        here = USUAL_BAUDS.index(self.baud)
        self.baud = USUAL_BAUDS[(here + 1) % len(USUAL_BAUDS)]
        self._proven, self._garbage_since = False, None
