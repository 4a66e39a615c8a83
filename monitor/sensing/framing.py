"""Bytes in, lines out, no port in sight."""

from collections import Counter, deque
from dataclasses import dataclass

MAX_LINE_BYTES = 256
"""NMEA 0183 allows 82 characters; a JSON line of a hobby board needs more, none needs this."""

_CLEAN = bytes(range(0x20, 0x7F)) + b"\t\r\n"
_KEPT_REJECTS = 16
_SHOWN_BYTES = 60


@dataclass(frozen=True, slots=True)
class Reject:
    """A line that could not be read: why, and how it looked, odd bytes escaped."""

    reason: str
    text: str


def odd_bytes(data: bytes) -> int:
    """How many of these bytes no plain text holds: many of them, and the baud rate is wrong."""
    return len(data.translate(None, _CLEAN))


class Framer:
    """Cuts a stream into lines ended by LF, CRLF or CR; blank ones are left out.

    `rejects` counts what was refused: `too-long` (over 256 bytes) and `garbled` (control
    characters, or not UTF-8). Whatever is fed, at most one line's bytes are held.
    """

    def __init__(self) -> None:
        self.rejects: Counter[str] = Counter()
        self.last_reject: Reject | None = None
        self._recent: deque[Reject] = deque(maxlen=_KEPT_REJECTS)
        self._pending = b""
        self._skipping = False

    def feed(self, data: bytes) -> list[str]:
        """The lines that these bytes complete, in order."""
        if self._skipping:
            data = self._rest_after_ending(data)
        block = self._pending + data
        pieces = block.splitlines()
        unfinished = pieces.pop() if pieces and block[-1:] not in (b"\n", b"\r") else b""
        lines = self._whole(pieces)
        self._hold(unfinished)
        return lines

    def take_rejects(self) -> tuple[Reject, ...]:
        """The latest refused lines (at most 16) since this was last asked."""
        taken = tuple(self._recent)
        self._recent.clear()
        return taken

    def reset(self) -> None:
        """Forget a half-received line: the stream starts anew. The counts stay."""
        self._pending, self._skipping = b"", False

    def _rest_after_ending(self, data: bytes) -> bytes:
        ends = [at for at in (data.find(b"\n"), data.find(b"\r")) if at >= 0]
        if not ends:
            return b""
        self._skipping = False
        return data[min(ends) :]

    def _hold(self, piece: bytes) -> None:
        if len(piece) <= MAX_LINE_BYTES:
            self._pending = piece
            return
        # Counted as soon as it is too long: a sensor that never ends a line must show at once.
        self._refuse("too-long", piece)
        self._pending, self._skipping = b"", True

    def _whole(self, pieces: list[bytes]) -> list[str]:
        joined = b"\n".join(pieces)
        # One pass over the block instead of one a line: this is what lets a small board keep up.
        if not joined.translate(None, _CLEAN) and len(max(pieces, key=len, default=b"")) <= (
            MAX_LINE_BYTES
        ):
            return [line for line in joined.decode("ascii").split("\n") if line.strip()]
        return [line for piece in pieces if (line := self._text(piece)) is not None]

    def _text(self, piece: bytes) -> str | None:
        if len(piece) > MAX_LINE_BYTES:
            self._refuse("too-long", piece)
            return None
        try:
            line = piece.decode()
        except UnicodeDecodeError:
            # Small boards send the degree sign as the single byte of ISO 8859-1.
            line = piece.replace(b"\xb0", b"\xc2\xb0").decode(errors="replace")
        if "\ufffd" in line or not line.replace("\t", " ").isprintable():
            self._refuse("garbled", piece)
            return None
        return line if line.strip() else None

    def _refuse(self, reason: str, piece: bytes) -> None:
        shown = piece[:_SHOWN_BYTES].decode("ascii", "backslashreplace")
        shown = "".join(c if c.isprintable() else f"\\x{ord(c):02x}" for c in shown)
        if len(piece) > _SHOWN_BYTES:
            shown += "…"
        self.rejects[reason] += 1
        self.last_reject = Reject(reason, shown)
        self._recent.append(self.last_reject)
