"""What the shop's book holds: sensors, layups, batches, stays, marks, corrections, alerts."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from monitor.records.words import Aloud, Channel, MarkKind, MessageKind, Nearness, Role
from monitor.units import Unit


@dataclass(frozen=True, slots=True)
class Sensor:
    id: int
    name: str
    port: str
    unit: Unit | None = None
    format: str | None = None
    identity: str | None = None
    owner: str | None = None
    """The machine that reads it, where several write into one database."""

    @property
    def plugged_in(self) -> str:
        """Its port, and at which bench, where there are several."""
        return self.port if self.owner is None else f"{self.port} of bench {self.owner}"


@dataclass(frozen=True, slots=True)
class Particulars:
    """What a part is of and who lays it up, as it stands on paper. None: nobody wrote it down.

    `laminate`: cloth, mat, core and plies, in a person's own words.
    """

    boat: str | None = None
    place: str | None = None
    person: str | None = None
    laminate: str | None = None


NO_PARTICULARS = Particulars()


@dataclass(frozen=True, slots=True)
class Layup:
    """One part's work, called by the number on its masking tape."""

    id: int
    number: int
    what: str
    sheet_id: int
    on: str | None = None
    safety: bool = False
    added_at: datetime | None = None
    ended_at: datetime | None = None
    boat: str | None = None
    place: str | None = None
    person: str | None = None
    laminate: str | None = None


@dataclass(frozen=True, slots=True)
class Batch:
    """One cup of mix with its own clock. `name` is its role, or the role and a number."""

    id: int
    layup_id: int
    name: str
    role: Role
    sheet_id: int
    mixed_at: datetime
    give_or_take: timedelta = timedelta(0)
    resin_g: float | None = None
    catalyst_g: float | None = None
    hardener_g: float | None = None
    scale_step_g: float | None = None
    thickness_mm: float | None = None
    waxed: bool = False
    counts_on: Channel | None = None
    resin_tin: str | None = None
    catalyst_tin: str | None = None
    cup: str | None = None


@dataclass(frozen=True, slots=True)
class Stay:
    """A layup (or one batch of it) beside one channel of one sensor, from–to."""

    id: int
    layup_id: int
    batch_id: int | None
    sensor_id: int
    channel: Channel
    nearness: Nearness
    since: datetime
    until: datetime | None = None


@dataclass(frozen=True, slots=True)
class Mark:
    """Something seen or done."""

    id: int
    layup_id: int
    batch_id: int | None
    kind: MarkKind
    at: datetime
    note: str | None = None


@dataclass(frozen=True, slots=True)
class Correction:
    """One change of an entry, the old value kept."""

    id: int
    entry: str
    field: str
    old_value: str | None
    new_value: str | None
    corrected_at: datetime


@dataclass(frozen=True, slots=True)
class Alert:
    """Parts, fact and one action. `key` says what it is about: one alert an event.

    `again_at`: when it is to be asked again. `withdrawn`: why it no longer held, in words; None:
    it holds, or it is over by itself.
    """

    id: int
    rule: str
    key: str
    began_at: datetime
    raised_at: datetime
    parts: tuple[int, ...]
    fact: str
    action: str
    cleared_at: datetime | None = None
    seen_at: datetime | None = None
    aloud: Aloud = Aloud.PAGE
    again_at: datetime | None = None
    withdrawn: str | None = None


@dataclass(frozen=True, slots=True)
class Message:
    """One alert on its way to one channel. `due_at`: not before; later each time it fails.

    `begun_at`: somebody began to send it; whether it arrived is known only by `sent_at`. `trouble`
    is what the last try met. `dropped_at`: it won't be tried any more.
    """

    id: int
    alert_id: int
    channel: str
    kind: MessageKind
    text: str
    made_at: datetime
    due_at: datetime
    tries: int = 0
    begun_at: datetime | None = None
    sent_at: datetime | None = None
    dropped_at: datetime | None = None
    trouble: str | None = None


@dataclass(frozen=True, slots=True)
class KeptReview:
    """A review as it was given: the answers, the findings with their strength, and every line.

    `answers` and `findings` are words with an equals sign: `thumbnail=dent`, `blush=strong`.
    """

    id: int
    layup_id: int
    batch_id: int | None
    reviewed_at: datetime
    answers: tuple[str, ...]
    findings: tuple[str, ...]
    lines: tuple[str, ...]
    give_up_by: datetime
