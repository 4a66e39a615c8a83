"""Words that mean something else to a browser, a sheet of figures, a mail or a terminal."""

import re
from dataclasses import replace
from datetime import timedelta

from monitor.answers.review import keep, review_of
from monitor.answers.review_asked import parse_answers
from monitor.config import Shop
from monitor.cure.mixing import Weighed
from monitor.logbook import parse_address
from monitor.records import (
    Aloud,
    Leave,
    MarkKind,
    MessageKind,
    Particulars,
    Reading,
)
from monitor.store import Outgoing
from tests.scenarios import at, series
from tests.scenarios.shop import ShopAtHand

NOW = at("2026-05-03T08:00:00Z")
MIXED = at("2026-05-02T10:20:00Z")

WORDS = (
    "<script>window.ran=1</script><img src=x onerror=window.ran=1>",
    "\"onfocus=window.ran=1 autofocus x='\" onmouseover='window.ran=1",
    "</title></script></textarea></pre></style><svg onload=window.ran=1>",
    '{{7*7}} {% raw %} ${7*7} %{y} <a href="javascript:window.ran=1">a</a><b>b</b>',
    "javascript:window.ran=1//",
    '=HYPERLINK("http://x.example","a")',
    "+1",
    "-1+1",
    "@SUM(A1)",
    "%s %n %(x)s {0} $(id) `id` ; --help",
    "wwwwwwwwww" * 40,
)
"""Plain text, all of it: it is taken, and is words wherever it comes back."""

UNSEEN = (
    "a\x1b[2Jb",
    "a\x1b]0;title\x07b",
    "a\x9b31mb",
    "a\x08\x08b",
    "a\x00b",
    "a\rb",
    "a\nb",
    "a\tb",
    "a\r\nBcc: x@y.example",
    "a\x7fb",
    "a\u202egnp.exeb",
    "a\u2066b\u2069",
    "a\u200fb",
    "a\u2028b",
)
"""What nobody can see or type: it is refused, and shown by its number where it was there before."""

ODD = re.compile(
    "[\x00-\x09\x0b-\x1f\x7f-\x9f\u2028\u2029\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]"
)

SHEET = """\
name = {words}
kind = "polyester"
role = "laminating"
demo = true
version = {words}
source = {words}
[count]
base_c = 5
floor_c = 10
[mix]
catalyst = {words}
catalyst_pct = [1.0, 2.0]
aim_pct = 1.5
[stages]
gel = 10
recoat = [10, 360]
sand = 240
[from]
"stages.sand" = {words}
"""


def quoted(words: str) -> str:
    """As TOML takes any text: https://toml.io/en/v1.0.0#string."""
    escaped = "".join(f"\\u{ord(c):04x}" if c < " " or c in '\x7f"\\' else c for c in words)
    return f'"{escaped}"'


def poison(shop: ShopAtHand, words: str, name: str = "shed") -> None:
    """A book in which every text is `words`, as an older program or another one left it.

    What our own program refuses goes in below it. `name` is what the sensor is called.
    """
    text = words.replace("\x00", "\\x00")  # neither engine keeps it
    sheets = shop.shop.folder / "sheets"
    (sheets / "tin.toml").write_text(SHEET.format(words=quoted(words)), "utf-8")
    shop.hear("shed", series("A1").between(0.0, NOW.timestamp()))
    for number in (1, 2):
        shop.book.add_layup(number, "part", "tin", on=None, safety=True, now=MIXED)
        shop.book.add_batch(
            parse_address(f"{number}/skin-a"),
            mixed_at=MIXED,
            now=MIXED,
            weighed=Weighed(200.0, catalyst_g=3.0),
        )
        shop.put(f"{number}", "shed", MIXED)
    shop.mix("1/skin-b", "P1", MIXED + timedelta(hours=6))
    for kind in (MarkKind.NOTE, MarkKind.KICKED, MarkKind.SUN, MarkKind.TRIMMED_CLEAN):
        shop.book.add_mark(
            parse_address("1/skin-a"), kind, at=MIXED + timedelta(hours=1), note="x", now=NOW
        )
    _overwrite(shop, text, name)
    _said(shop, text)


_HOW_MANY = {"layup": 2, "batch": 3, "mark": 4, "sensor": 1}


def _overwrite(shop: ShopAtHand, text: str, name: str) -> None:
    """Twice, so that it is what stands there and what stood there before."""
    book = shop.store.book
    texts = {
        "layup": ("what", "boat", "place", "person", "laminate"),
        "batch": ("resin_tin", "catalyst_tin", "cup"),
        "mark": ("note",),
        "sensor": ("port", "format", "identity", "owner"),
    }
    for kind, fields in texts.items():
        for number in range(1, _HOW_MANY[kind] + 1):
            for words in (text, f"{text}."):
                book.correct_all(f"{kind}-{number}", dict.fromkeys(fields, words), NOW)
    book.correct("sensor-1", "name", name, NOW)


def _said(shop: ShopAtHand, text: str) -> None:
    """Alerts, messages, lines, doubts, a review, a phone and the watch's own troubles."""
    store = shop.store
    sensor = store.book.sensors()[0]
    store.readings.add(sensor.id, [Reading(NOW - timedelta(seconds=7), 20.0, 60.0, raw=text)])
    for rule in ("dew", "floor"):
        raised = store.alerts.raise_alert(
            rule,
            text,
            MIXED,
            MIXED + timedelta(hours=1),
            (1,),
            text,
            text,
            aloud=Aloud.ANY_HOUR,
            outgoing=(Outgoing("webhook", MessageKind.SAID, text, MIXED),),
        )
        assert raised is not None
    store.alerts.clear(1, NOW, withdrawn=text)
    message = store.messages.next_due("webhook", NOW)
    assert message is not None
    store.messages.begin(message.id, NOW)
    store.messages.failed(message.id, text, NOW + timedelta(hours=1), NOW)
    answers = parse_answers({"where": "all-over", "thumbnail": "dent", "grit": "gum"})
    keep(store, review_of(store, shop.look(1, NOW), answers, None, NOW, "c"), shop.shop.zone)
    store.door.sign_in(Leave.WRITE, text, NOW)
    store.health.say("backup", (text, text))


def owned_by(shop: Shop, words: str) -> Shop:
    """The shop whose own texts are these words too."""
    return replace(shop, particulars=Particulars(words, words, words), bench=words)
