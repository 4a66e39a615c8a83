"""Turns a record or a label into one page that stands by itself: no script, nothing fetched."""

import math
import re
from functools import cache
from typing import Literal
from urllib.parse import urlsplit

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from dashboards.paper import plain
from dashboards.printed.plot import HATCH, plots
from monitor.answers.label import SURE
from monitor.answers.record import NO_CERTIFICATE
from monitor.answers.record_views import Label, Record
from monitor.errors import BadInput

PaperKind = Literal["tape", "plain"]

_PLAIN = re.compile(r"[!-~]{1,300}")
_RECKONED = tuple("=+-@|")
_LOOPBACK = frozenset({"127.0.0.1", "localhost", "::1"})


def record_html(record: Record) -> str:
    """The record as HTML for A4 or Letter, whichever the printer holds."""
    return (
        _environment()
        .get_template("record.html")
        .render(
            record=record,
            plots=[(Markup(plot.svg), plot.key) for plot in plots(record.history)],
            hatch=Markup(HATCH),
            no_certificate=NO_CERTIFICATE,
        )
    )


def label_html(label: Label, address: str, paper: PaperKind = "tape") -> str:
    """The label as HTML: 62 mm wide tape, or plain paper with a line to cut along.

    `address`: where the pages are; the label's square leads to the part's own. Raises BadInput
    where it is no web address.
    """
    page = part_address(address, label.number)
    # Four modules of quiet around it, as ISO/IEC 18004 asks.
    # Only a label needs it, and a watch may go on for months without one.
    import segno

    square = segno.make(page, error="m", micro=False).svg_inline(scale=1, border=4, omitsize=True)
    return (
        _environment()
        .get_template("label.html")
        .render(
            label=label,
            sure=SURE,
            address=page,
            only_here=only_here(address),
            plain=paper == "plain",
            length_mm=_length_mm(label, page),
            square=Markup(square),
        )
    )


def _length_mm(label: Label, page: str) -> int:
    """How long a strip of tape it takes: a little more than its lines do, never less."""
    lines = math.ceil(len(label.what) / 18) * 6 + math.ceil(len(page) / 26) * 4
    for batch in label.batches:
        lines += 9 + 11 * len(batch.bounds)
        lines += sum(math.ceil(len(note) / 30) * 4 for note in batch.notes)
    return 62 + lines + (0 if label.batches else 36)


def part_address(base: str, number: int) -> str:
    """The address of one part's page. Raises BadInput where the base is no web address."""
    try:
        parts = urlsplit(base)
        fits = parts.scheme in ("http", "https") and bool(parts.hostname) and parts.port != 0
    except ValueError:
        fits = False
    if not fits or not _PLAIN.fullmatch(base):
        raise BadInput(
            f"{base[:60]!r} is no address of the pages.",
            "Give one such as http://shed.local:8417, as a phone would open it.",
        )
    return f"{base.partition('#')[0].partition('?')[0].rstrip('/')}/layups/{number}"


def only_here(base: str) -> bool:
    """Whether an address opens on the machine itself and nowhere else."""
    return urlsplit(base).hostname in _LOOPBACK


def theirs(text: str | None) -> str | None:
    """A person's own words, in quotation marks where a spreadsheet would take them for a formula.

    Paper is copied from: what is pasted into a sheet of figures must stay words.
    """
    return f"“{text}”" if text and text.lstrip()[:1] in _RECKONED else text


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("dashboards", "templates"),
        autoescape=True,
        finalize=plain,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["theirs"] = theirs
    return environment
