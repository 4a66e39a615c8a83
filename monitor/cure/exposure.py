"""What a batch has been through, as three temperature lines: the cold edge, the middle, the warm.

Readings become straight lines between knots. Where nobody measured, the edges part: how far is
the rule in `GAP_S` and `LONG_GAP_S`, the same between two readings and beside one.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from monitor.cure.gaps import Unmeasured, said_until, unmeasured
from monitor.cure.trace import GAP_S, LONG_GAP_S, Run, Trace
from monitor.records import FloatArray


@dataclass(frozen=True)
class Piece:
    """A stretch beside one reading, from–to in Unix seconds, on a straight line in °C."""

    start_s: float
    end_s: float
    start_c: float
    end_c: float
    earns: bool = True


@dataclass(frozen=True)
class EdgeLine:
    """One edge of the band from its own mixing time until now.

    The line is `head`, then the intervals between knots from `first` on, then `tail`. An interval
    listed in `odd` (interval i runs from knot i to i+1) follows `odd_start_c`–`odd_end_c` for its
    first `odd_share`, and earns nothing after; every other follows the knots shifted by
    `sign` × the run's band. `head_unknown` and `tail_unknown`: nobody can say what it earned there.
    """

    sign: int
    start_s: float
    first: int
    head: Piece | None
    tail: Piece | None
    head_unknown: bool
    tail_unknown: bool
    odd: NDArray[np.int64]
    odd_start_c: FloatArray
    odd_end_c: FloatArray
    odd_share: FloatArray


@dataclass(frozen=True)
class Exposure:
    """The three edges over shared knots (`time_s` Unix seconds, `temperature_c` °C)."""

    time_s: FloatArray
    temperature_c: FloatArray
    runs: tuple[Run, ...]
    low: EdgeLine
    middle: EdgeLine
    high: EdgeLine
    now_s: float
    gaps: tuple[Unmeasured, ...]

    @property
    def edges(self) -> tuple[EdgeLine, EdgeLine, EdgeLine]:
        return self.low, self.middle, self.high


@dataclass(frozen=True)
class From:
    """Where an exposure goes on from, instead of from mixing: a knot, in Unix seconds.

    `head_unknown`: which edges (low, middle, high) nobody can say the beginning of.
    """

    knot_s: float
    head_unknown: tuple[bool, bool, bool]


def expose(
    traces: tuple[Trace, ...],
    mixed_s: float,
    now_s: float,
    give_or_take_s: float = 0.0,
    seen_warm_s: tuple[float, ...] = (),
    since: From | None = None,
) -> Exposure:
    """The exposure from mixing until now, both in Unix seconds.

    `traces` are in time order and don't overlap. A mixing time remembered ± `give_or_take_s`
    starts the low edge's clock that much later and the high edge's that much earlier. Where
    somebody saw it warm (`seen_warm_s`, ascending) the low edge holds the colder end of a long gap
    until the last such time: said, not measured. With `since`, the exposure from there on: its knot
    is the first of the traces.
    Valid for mixed_s ≤ now_s. Source: this project's rules for readings, bands and gaps.
    """
    kept = tuple(_until(trace, now_s) for trace in traces)
    kept = tuple(trace for trace in kept if trace.time_s.size)
    time_s = _joined([trace.time_s for trace in kept])
    temperature_c = _joined([trace.temperature_c for trace in kept])
    runs, stop = [], 0
    for trace in kept:
        first, stop = stop, stop + trace.time_s.size
        runs.append(Run(first, stop, trace.band_c, trace.nearness, trace))
    odd = _odd_intervals(time_s, runs)
    suspect_s = _joined([trace.suspect_s for trace in traces])
    line = _EdgeBuilder(time_s, temperature_c, tuple(runs), odd, now_s, seen_warm_s, since)
    begun_s = mixed_s if since is None else since.knot_s
    return Exposure(
        time_s,
        temperature_c,
        tuple(runs),
        line.later(line.edge(-1, mixed_s), mixed_s + give_or_take_s),
        line.edge(0, mixed_s),
        line.edge(1, mixed_s - give_or_take_s),
        now_s,
        unmeasured(time_s, tuple(runs), odd, np.sort(suspect_s), begun_s, now_s, seen_warm_s),
    )


def _until(trace: Trace, now_s: float) -> Trace:
    stop = int(np.searchsorted(trace.time_s, now_s, side="right"))
    return replace(trace, time_s=trace.time_s[:stop], temperature_c=trace.temperature_c[:stop])


def _joined(columns: list[FloatArray]) -> FloatArray:
    if len(columns) == 1:
        return columns[0]
    return np.concatenate(columns) if columns else np.empty(0)


def _odd_intervals(time_s: FloatArray, runs: list[Run]) -> NDArray[np.int64]:
    """Intervals that don't simply follow their two readings: long ones, and carries."""
    long = np.flatnonzero(np.diff(time_s) > GAP_S)
    carries = np.array([run.first - 1 for run in runs[1:]], np.int64)
    return np.union1d(long, carries).astype(np.int64)


class _EdgeBuilder:
    def __init__(
        self,
        time_s: FloatArray,
        temperature_c: FloatArray,
        runs: tuple[Run, ...],
        odd: NDArray[np.int64],
        now_s: float,
        seen_warm_s: tuple[float, ...],
        since: From | None,
    ) -> None:
        self.time_s, self.temperature_c, self.runs = time_s, temperature_c, runs
        self.odd, self.now_s, self.seen_warm_s = odd, now_s, seen_warm_s
        self.since = since

    def edge(self, sign: int, start_s: float) -> EdgeLine:
        first, (head, head_unknown) = 0, (None, False)
        if self.since is None:
            first = int(np.searchsorted(self.time_s, start_s, side="left"))
            head, head_unknown = self._head(sign, start_s, first)
        else:
            head_unknown = self.since.head_unknown[sign + 1]
        tail, tail_unknown = self._tail(sign, start_s, first)
        odd = self.odd[self.odd >= first]
        odd_start, odd_end, share = self._between(sign, odd)
        return EdgeLine(
            sign,
            start_s,
            first,
            head,
            tail,
            head_unknown,
            tail_unknown,
            odd,
            odd_start,
            odd_end,
            share,
        )

    def later(self, edge: EdgeLine, start_s: float) -> EdgeLine:
        """The same line with its beginning cut off: a later start never earns by a kinder rule."""
        if start_s <= edge.start_s:
            return edge
        if self.since is not None:
            return replace(edge, start_s=start_s)
        first = int(np.searchsorted(self.time_s, start_s, side="left"))
        kept = edge.odd >= first
        return replace(
            edge,
            start_s=start_s,
            first=first,
            head=_from(self._piece_before(edge, first), start_s),
            tail=_from(edge.tail, start_s),
            odd=edge.odd[kept],
            odd_start_c=edge.odd_start_c[kept],
            odd_end_c=edge.odd_end_c[kept],
            odd_share=edge.odd_share[kept],
        )

    def _piece_before(self, edge: EdgeLine, first: int) -> Piece | None:
        """What of an edge's line ends at knot `first`."""
        if first <= edge.first or first == self.time_s.size:
            return edge.head if first == edge.first else None
        i = first - 1
        start_s, end_s = float(self.time_s[i]), float(self.time_s[first])
        at = int(np.searchsorted(edge.odd, i))
        if at < edge.odd.size and int(edge.odd[at]) == i:
            start_c, end_c = float(edge.odd_start_c[at]), float(edge.odd_end_c[at])
            share = float(edge.odd_share[at])
            stop_s = start_s + share * (end_s - start_s)
            return Piece(start_s, stop_s, start_c, end_c, share > 0.0)
        return Piece(start_s, end_s, self._shifted(edge.sign, i), self._shifted(edge.sign, first))

    def _shifted(self, sign: int, knot: int) -> float:
        run = next(run for run in self.runs if run.first <= knot < run.stop)
        return float(self.temperature_c[knot]) + sign * run.band_c

    def _between(
        self, sign: int, odd: NDArray[np.int64]
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Between two readings: the edges hold the colder and the warmer end of a long interval."""
        if odd.size == 0:
            return np.empty(0), np.empty(0), np.empty(0)
        stops = np.array([run.stop for run in self.runs], np.int64)
        bands = np.array([run.band_c for run in self.runs], float)

        def shift(knots: NDArray[np.int64]) -> FloatArray:
            return np.asarray(sign * bands[np.searchsorted(stops, knots, side="right")])

        start = self.temperature_c[odd] + shift(odd)
        end = self.temperature_c[odd + 1] + shift(odd + 1)
        hours_s = self.time_s[odd + 1] - self.time_s[odd]
        share = np.ones(odd.size)
        if sign == 0:
            return start, end, share
        held = np.minimum(start, end) if sign < 0 else np.maximum(start, end)
        long = hours_s > GAP_S
        if sign < 0:
            share = np.where(hours_s <= LONG_GAP_S, 1.0, self._said_share(odd))
        return np.where(long, held, start), np.where(long, held, end), share

    def _said_share(self, odd: NDArray[np.int64]) -> FloatArray:
        """How much of each interval somebody vouches for, from its start on."""
        share = np.zeros(odd.size)
        if self.seen_warm_s:
            for n, i in enumerate(odd):
                start_s, end_s = float(self.time_s[i]), float(self.time_s[i + 1])
                said_s = said_until(start_s, end_s, self.seen_warm_s)
                if said_s > start_s:
                    share[n] = (said_s - start_s) / (end_s - start_s)
        return share

    def _head(self, sign: int, start_s: float, first: int) -> tuple[Piece | None, bool]:
        """From mixing to the first reading after it."""
        if first == self.time_s.size or start_s >= self.now_s:
            return None, False
        next_s = float(self.time_s[first])
        if next_s == start_s:
            return None, False
        next_c = self._shifted(sign, first)
        if first > 0 and next_s - float(self.time_s[first - 1]) <= GAP_S:
            before_s = float(self.time_s[first - 1])
            share = (start_s - before_s) / (next_s - before_s)
            before_c = self._shifted(sign, first - 1)
            start_c = before_c + share * (next_c - before_c)
            return Piece(start_s, next_s, start_c, next_c), False
        return self._beside_one(sign, start_s, next_s, next_c)

    def _tail(self, sign: int, start_s: float, first: int) -> tuple[Piece | None, bool]:
        """From the last reading until now. Before mixing it only counts while it is fresh."""
        if start_s >= self.now_s:
            return None, False
        last = self.time_s.size - 1
        if last < 0:
            return None, True
        last_s = float(self.time_s[last])
        last_c = self._shifted(sign, last)
        if last < first:
            if self.now_s - last_s > GAP_S:
                return None, True
            return Piece(start_s, self.now_s, last_c, last_c), False
        if last_s >= self.now_s:
            return None, False
        return self._beside_one(sign, last_s, self.now_s, last_c)

    @staticmethod
    def _beside_one(
        sign: int, start_s: float, end_s: float, held_c: float
    ) -> tuple[Piece | None, bool]:
        """Beside one reading: it holds for a while, then the low edge, then all give up on it."""
        length_s = end_s - start_s
        if length_s > LONG_GAP_S and sign >= 0:
            return None, True
        earns = sign >= 0 or length_s <= GAP_S
        return Piece(start_s, end_s, held_c, held_c, earns), False


def _from(piece: Piece | None, start_s: float) -> Piece | None:
    """What is left of a piece from then on."""
    if piece is None or piece.end_s <= start_s:
        return None
    if start_s <= piece.start_s:
        return piece
    share = (start_s - piece.start_s) / (piece.end_s - piece.start_s)
    start_c = piece.start_c + share * (piece.end_c - piece.start_c)
    return replace(piece, start_s=start_s, start_c=start_c)
