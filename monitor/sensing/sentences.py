"""NMEA 0183 sentences as they come: whole or damaged, ours or another instrument's.

Source: NMEA 0183, also IEC 61162-1, for the checksum and the sentences' fields.
"""

import re
from functools import reduce
from operator import xor
from typing import NamedTuple

from monitor.sensing.measured import DamagedLine

_SENTENCE = re.compile(
    r"(?:\\[^\\]{0,80}\\)?"  # a tag block of version 4 in front, passed over
    r"(?P<start>[$!])(?P<body>(?P<address>[A-Za-z0-9]{3,8}),[^*]*)(?P<sum>\*.*)?"
)
_SUM = re.compile(r"\*[0-9A-Fa-f]{2}")
_REMEDY = "One now and then is noise; if it goes on, check the cable, the ground and the baud rate."


class Sentence(NamedTuple):
    """A sentence whose checksum fits: `kind` is its last three letters."""

    kind: str
    fields: tuple[str, ...]


def checksum(body: str) -> int:
    """All characters between `$` and `*` exclusive-ored."""
    return reduce(xor, body.encode(), 0)


def sentence(line: str) -> Sentence | None:
    """None for a line that is none. Raises DamagedLine.

    The standard lets most sentences go without a checksum; here none is believed without one.
    """
    found = _SENTENCE.fullmatch(line.strip())
    if found is None:
        return None
    told = found["sum"]
    if told is None:
        raise DamagedLine("checksum", "The sentence has no checksum.", _REMEDY)
    if not _SUM.fullmatch(told):
        raise DamagedLine("damaged", "The sentence is cut or broken.", _REMEDY)
    if int(told[1:], 16) != checksum(found["body"]):
        raise DamagedLine("checksum", "The sentence's checksum doesn't fit.", _REMEDY)
    fields = found["body"].split(",")[1:]
    return Sentence(found["address"][-3:].upper(), tuple(fields))
