"""Moments for paper: whole dates, that still say which day it was a year later."""

from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

from monitor.times import length_said

_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Dated:
    """How moments between two times are written.

    `offsets`: the clocks were changed on the way, so each time says how far it is from UTC.
    """

    zone: tzinfo
    offsets: bool = False

    @classmethod
    def between(cls, zone: tzinfo, start: datetime, end: datetime) -> "Dated":
        days = max((end - start) // _DAY, 0)
        moments = [*(start + _DAY * day for day in range(days + 1)), end]
        return cls(zone, len({moment.astimezone(zone).utcoffset() for moment in moments}) > 1)

    def at(self, moment: datetime) -> str:
        """`04:54 Sun 3 May 2026`, or `01:30 +00:00 Sun 25 Oct 2026` across a clock change."""
        local = moment.astimezone(self.zone)
        offset = f" {_offset_said(local)}" if self.offsets else ""
        return f"{local:%H:%M}{offset} {local:%a} {local.day} {local:%b %Y}"

    def span(self, start: datetime, end: datetime) -> str:
        """`21:10 Sat 2 May 2026 to 04:40 Sun 3 May 2026`; the day once where it is the same."""
        first, last = self.at(start), self.at(end)
        days = {moment.astimezone(self.zone).date() for moment in (start, end)}
        if len(days) == 1 and not self.offsets:
            return f"{first[:5]} to {last}"
        return f"{first} to {last}"

    def beside(self, moment: datetime, other: datetime | None) -> str:
        """A moment beside another: its clock alone where both are of the same day."""
        days = {m.astimezone(self.zone).date() for m in (moment, other) if m is not None}
        return (
            self.at(moment)[:5]
            if other and len(days) == 1 and not self.offsets
            else self.at(moment)
        )

    def lasted(self, start: datetime, end: datetime) -> str:
        """The span with its length."""
        return f"{self.span(start, end)}, {length_said((end - start).total_seconds())}"

    def note(self, moment: datetime) -> str:
        """Whose clock it is: `Europe/Lisbon (UTC+01:00)`."""
        if self.offsets:
            return (
                f"{self.zone}, which was changed on the way: each time says how far it is off UTC"
            )
        return f"{self.zone} (UTC{_offset_said(moment.astimezone(self.zone))})"


def _offset_said(local: datetime) -> str:
    """`+01:00`"""
    return f"{local:%z}"[:3] + ":" + f"{local:%z}"[3:5]
