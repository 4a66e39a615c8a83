"""Style sheet, scripts and the plotting library, each under an address that never changes."""

import gzip
import hashlib
from dataclasses import dataclass
from functools import cache
from importlib.metadata import version
from importlib.resources import files
from importlib.util import find_spec
from pathlib import Path

from monitor.errors import HostError

OWN = (
    "daybook.css",
    "phone.css",
    "live.js",
    "press.js",
    "look.js",
    "minutes.js",
    "sliders.js",
    "charts.js",
)
PLOTLY = "plotly.min.js"

_TYPES = {".css": "text/css", ".js": "text/javascript"}


@dataclass(frozen=True, slots=True)
class Asset:
    body: bytes
    gzipped: bytes
    media_type: str


@cache
def stamp(name: str) -> str:
    """What stands in the address of a file and changes with its content."""
    if name == PLOTLY:
        return version("plotly")
    return hashlib.sha256(_own(name)).hexdigest()[:12]


def address(name: str) -> str:
    return f"/static/{stamp(name)}/{name}"


def find(wanted_stamp: str, name: str) -> Asset | None:
    """The file of that address; None where there is none. Reads and packs it at first use."""
    if name not in (*OWN, PLOTLY) or wanted_stamp != stamp(name):
        return None
    return _packed(name)


@cache
def _packed(name: str) -> Asset:
    body = _plotly() if name == PLOTLY else _own(name)
    return Asset(body, gzip.compress(body, 6, mtime=0), _TYPES[Path(name).suffix])


@cache
def _own(name: str) -> bytes:
    return (files("dashboards") / "static" / name).read_bytes()


def _plotly() -> bytes:
    # Found without importing it: the file is all that is wanted here.
    spec = find_spec("plotly")
    for folder in (spec and spec.submodule_search_locations) or ():
        path = Path(folder) / "package_data" / PLOTLY
        if path.is_file():
            return path.read_bytes()
    raise HostError(
        "The plotting library is not where it should be.", "Install layupwatch once more with pip."
    )
