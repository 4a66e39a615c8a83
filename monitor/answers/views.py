"""What a page or a terminal shows, ready to be laid out: sentences, times and columns."""

from dataclasses import dataclass
from datetime import datetime

from monitor.records import (
    Alert,
    Assessment,
    Channel,
    FloatArray,
    Forecast,
    Gap,
    Mark,
    Nearness,
    Parked,
    Sheet,
    Stage,
    StageAnswer,
    Verdict,
)

NO_FORECAST = Forecast("", ())


@dataclass(frozen=True, slots=True)
class Freshness:
    """How old the newest reading is. None everywhere: nothing has been heard."""

    sensor: str | None
    channel: Channel | None
    nearness: Nearness | None
    at: datetime | None
    temperature_c: float | None
    humidity_pct: float | None
    spread_c: float | None
    silent: bool
    said: str
    """`reading 2 min old · beside the part`, `no reading for 41 min`, `no sensor beside it`."""


@dataclass(frozen=True, slots=True)
class BatchNow:
    """One batch on the page of everything open, in the order it is read."""

    address: str
    """`3/skin-a`"""
    what: str
    """`skin A, mixed 10:20`"""
    stage: Stage | None
    """The next stage it waits for; None once it is past full, or where nothing can be told."""
    verdict: Verdict
    sentence: str
    """The headline: `Sand: NOT YET` with its time in words where it has one."""
    when: str
    """What follows the verdict: `since 04:50 today`, `after 13:20 today if it stays 17.0 °C`."""
    warm_it: bool
    """Whether warmth is what it takes: heat's cautions go with it."""
    against: str | None
    """The one thing against it: `parked since 21:12, 5.0 °C`, `7 h 30 min not measured`."""
    next_shuts: str | None
    """`recoat without sanding until 11:01 Sun`."""
    assessment: Assessment


@dataclass(frozen=True, slots=True)
class PartNow:
    """One open layup."""

    number: int
    what: str
    batches: tuple[BatchNow, ...]
    freshness: Freshness
    alerts: tuple[Alert, ...]


@dataclass(frozen=True, slots=True)
class Now:
    """Everything open, at one moment."""

    at: datetime
    zone: str
    unit: str
    """`c` or `f`, the shop's setting: pages convert at the edge."""
    demo: bool
    parts: tuple[PartNow, ...]


@dataclass(frozen=True, slots=True)
class Band:
    """The lowest and the highest of what was summed up at each point."""

    low: FloatArray
    high: FloatArray


@dataclass(frozen=True, slots=True)
class StaySeries:
    """What one stay's sensor said, as columns of equal length to draw; nan: missing.

    `step_s` 0: each point is a stored reading, and there are no bands. Else each is the mean of
    that many seconds, at their middle, and the bands hold what the means hide.
    """

    sensor: str
    channel: Channel
    nearness: Nearness
    time_s: FloatArray
    temperature_c: FloatArray
    humidity_pct: FloatArray
    dew_point_c: FloatArray
    spread_c: FloatArray
    suspect_time_s: FloatArray
    suspect_temperature_c: FloatArray
    step_s: float = 0.0
    temperature_band_c: Band | None = None
    humidity_band_pct: Band | None = None
    spread_band_c: Band | None = None


@dataclass(frozen=True, slots=True)
class CountAhead:
    """A guess of the count from now on, each edge, and what the guess rests on in words."""

    time_s: FloatArray
    low: FloatArray
    middle: FloatArray
    high: FloatArray
    basis: str


@dataclass(frozen=True, slots=True)
class WarmthAhead:
    """A guess of the temperature (°C) from now on where a batch is counted, and its basis."""

    sensor: str
    channel: Channel
    time_s: FloatArray
    temperature_c: FloatArray
    basis: str


@dataclass(frozen=True, slots=True)
class CountSeries:
    """One batch's count over time, each edge; nan where that edge is unknown."""

    address: str
    mixed_at: datetime
    unit: str
    time_s: FloatArray
    low: FloatArray
    middle: FloatArray
    high: FloatArray
    gaps: tuple[Gap, ...]
    parked: tuple[Parked, ...]
    sheet: Sheet
    stages: tuple[StageAnswer, ...] = ()
    what: str = ""
    """`skin A, mixed 10:20 Sat`"""
    ahead: CountAhead | None = None
    forecast: Forecast = NO_FORECAST


@dataclass(frozen=True, slots=True)
class LayupHistory:
    """One layup from `start_s` to `end_s`, both in Unix seconds: what a page shows of it.

    Nothing measured lies after `at`; what is shown after it is guessed. `whole_s` is all that can
    be shown, `width_px` how wide it will be drawn, `silences` when nobody measured.
    """

    number: int
    what: str
    at: datetime
    zone: str
    unit: str
    start_s: float
    end_s: float
    stays: tuple[StaySeries, ...]
    counts: tuple[CountSeries, ...]
    marks: tuple[Mark, ...]
    alerts: tuple[Alert, ...]
    whole_s: tuple[float, float] = (0.0, 0.0)
    width_px: int = 700
    silences: tuple[tuple[float, float], ...] = ()
    warmth: tuple[WarmthAhead, ...] = ()
    sheets: tuple[Sheet, ...] = ()
