"""The shop's own random word: only a page of this shop can send it back."""

import os
import secrets
from pathlib import Path

from monitor.errors import HostError

FILE = "form-seal"


def seal_of(folder: Path) -> str:
    """The word kept in the shop folder, made there the first time, for its owner to read only.

    Raises HostError where the folder can't be read or written.
    """
    path = folder / FILE
    try:
        return _kept(path) or _made(path)
    except OSError as fault:
        raise HostError(
            f"{path} can't be used ({fault.strerror}).",
            "Make the shop folder readable and writable for the one who starts layupwatch.",
        ) from None


def _kept(path: Path) -> str:
    try:
        return path.read_text("ascii").strip()
    except (FileNotFoundError, UnicodeDecodeError):
        return ""


def _made(path: Path) -> str:
    word = secrets.token_urlsafe(32)
    own = path.with_name(f".{FILE}-{secrets.token_hex(4)}")
    with os.fdopen(os.open(own, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
        file.write(word)
    own.replace(path)
    return word
