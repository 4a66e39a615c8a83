"""Sentences that name a command's options, as they are read on a page."""

import re

_OPTIONS = {
    "resin-g": "the resin",
    "weighed-g": "what went in",
    "scale-step-g": "the scale's smallest step",
    "mix-pct": "another dose",
    "drops-per-ml": "drops a millilitre",
    "minutes-needed": "the minutes your hands need",
    "minutes-ago": "the minutes since",
    "temperature-c": "the resin's temperature",
    "temperature-f": "the resin's temperature",
    "catalyst-g": "the catalyst",
    "hardener-g": "the hardener",
    "give-or-take": "how sure you are of the time",
    "cup": "the cup",
    "sheet": "the sheet",
    "sensor": "the sensor",
    "heat": "the heater",
    "from": "the first time",
    "to": "the second time",
}
_NAMED = re.compile(r"--([a-z]+(?:-[a-z]+)*)")


def on_page(words: str) -> str:
    """The sentence with each option called as the page calls it."""
    said = _NAMED.sub(lambda found: _OPTIONS.get(found[1], found[1].replace("-", " ")), words)
    return said[:1].upper() + said[1:]
