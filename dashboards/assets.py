"""Style sheet, scripts and the plotting library, each under an address that never changes."""

import gzip
import hashlib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path

OWN = (
    "daybook.css",
    "phone.css",
    "live.js",
    "press.js",
    "onward.js",
    "sound.js",
    "look.js",
    "minutes.js",
    "sliders.js",
    "charts.js",
)
PLOTLY = "plotly-basic.min.js"
"""The plotting library's bundle of lines and bars alone, a quarter of the whole: first looked at on
a phone. As published: `npm pack plotly.js-basic-dist-min@4.1.1`; its licence lies beside it."""

_TYPES = {".css": "text/css", ".js": "text/javascript"}


@dataclass(frozen=True, slots=True)
class Asset:
    body: bytes
    gzipped: bytes
    media_type: str


@cache
def stamp(name: str) -> str:
    """What stands in the address of a file and changes with its content."""
    return hashlib.sha256(own(name)).hexdigest()[:12]


def address(name: str) -> str:
    return f"/static/{stamp(name)}/{name}"


def find(wanted_stamp: str, name: str) -> Asset | None:
    """The file of that address; None where there is none. Reads and packs it at first use."""
    if name not in (*OWN, PLOTLY) or wanted_stamp != stamp(name):
        return None
    return _packed(name)


@cache
def _packed(name: str) -> Asset:
    body = own(name)
    return Asset(body, gzip.compress(body, 9, mtime=0), _TYPES[Path(name).suffix])


@cache
def own(name: str) -> bytes:
    """A file of ours as it is."""
    return (files("dashboards") / "static" / name).read_bytes()
