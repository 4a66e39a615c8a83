"""A disk that keeps only what was synced, made from the log that the shim wrote.

The strict reading of POSIX: a write is safe once its file is synced, a name once its folder is.
What was not synced is lost, or any part of it is there, in any order.
"""

import os
import random
import shutil
import struct
import subprocess
from dataclasses import dataclass, field
from pathlib import Path

HEAD = struct.Struct("<c7xQQQ")
SECTOR = 512


def built_shim(folder: Path) -> Path:
    """The shim, compiled."""
    target = folder / "shim.so"
    source = Path(__file__).with_name("shim.c")
    words = ["cc", "-shared", "-fPIC", "-O2", "-o", target, source, "-ldl", "-lpthread"]
    subprocess.run(words, check=True)
    return target


def shimmed(shim: Path, folder: Path, log: Path | None = None, fault: Path | None = None) -> dict:
    """The environment in which a program sees its disk through the shim."""
    named = {"SOAK_LOG": log, "SOAK_FAULT": fault}
    given = {name: str(path) for name, path in named.items() if path is not None}
    return {"LD_PRELOAD": str(shim), "SOAK_FOLDER": str(folder), **given}


@dataclass
class File:
    """What was written, what of it is safe, and the writes since."""

    safe: bytearray = field(default_factory=bytearray)
    since: list[tuple[int, bytes | None]] = field(default_factory=list)

    def synced(self) -> None:
        for place, data in self.since:
            apply(self.safe, place, data)
        self.since = []

    def after_a_cut(self, dice: random.Random | None) -> bytes:
        """Without dice nothing unsynced is there; with them any of its sectors may be."""
        left = bytearray(self.safe)
        if dice is not None:
            for place, data in self.since:
                if data is None:
                    if dice.random() < 0.5:
                        apply(left, place, data)
                    continue
                for start in range(0, len(data), SECTOR):
                    if dice.random() < 0.5:
                        apply(left, place + start, data[start : start + SECTOR])
        return bytes(left)


def apply(content: bytearray, place: int, data: bytes | None) -> None:
    """A write at a place; None: cut, or drawn out, to that size."""
    if data is None:
        del content[place:]
        content.extend(bytes(place - len(content)))
        return
    content.extend(bytes(max(0, place - len(content))))
    content[place : place + len(data)] = data


class Disk:
    """One folder as its log tells it."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._names: dict[str, File] = {}
        self._safe_names: dict[str, File] = {}

    def as_it_is(self) -> None:
        """Begin with what lies in the folder, all of it safe."""
        for path in self._folder.iterdir():
            self._names[str(path)] = File(bytearray(path.read_bytes()))
        self._safe_names = dict(self._names)

    def read(self, log: Path) -> None:
        text, at = log.read_bytes(), 0
        while at + HEAD.size <= len(text):
            kind, path_size, place, size = HEAD.unpack_from(text, at)
            at += HEAD.size
            path = text[at : at + path_size].decode()
            data = text[at + path_size : at + path_size + size]
            at += path_size + size
            if at <= len(text):
                self._take(kind, path, place, data)

    def _take(self, kind: bytes, path: str, place: int, data: bytes) -> None:
        match kind:
            case b"c":
                self._names[path] = File()
            case b"w":
                self._names[path].since.append((place, data))
            case b"t":
                self._names[path].since.append((place, None))
            case b"u":
                self._names.pop(path, None)
            case b"m":
                self._names[data.decode()] = self._names.pop(path)
            case b"s" if path in self._names:
                self._names[path].synced()
            case b"s":
                inside = {n: f for n, f in self._names.items() if Path(n).parent == Path(path)}
                outside = {
                    n: f for n, f in self._safe_names.items() if Path(n).parent != Path(path)
                }
                self._safe_names = outside | inside

    def cut(self, dice: random.Random | None) -> None:
        """Make the folder what it is when the power comes back."""
        shutil.rmtree(self._folder)
        self._folder.mkdir()
        for name, file in self._safe_names.items():
            Path(name).parent.mkdir(parents=True, exist_ok=True)
            content = file.after_a_cut(dice)
            Path(name).write_bytes(content)
            file.safe, file.since = bytearray(content), []
        self._names = dict(self._safe_names)
        os.sync()
