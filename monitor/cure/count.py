"""The count: each edge's line under a law, in totals a chunk, with exact crossings.

Chunks keep the working set in the processor's cache. A chunk whose temperatures stay in one
straight zone of the law costs four sums; any other is counted interval by interval.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from monitor.cure.exposure import EdgeLine, Exposure, Piece
from monitor.cure.law import Law
from monitor.records import FloatArray
from monitor.units import SECONDS_PER_HOUR

CHUNK = 16_384
_ROUNDING = 1e-9
"""A count this close below a need has reached it: sums of many small floats end just short."""


@dataclass(frozen=True)
class _ChunkSums:
    """Over intervals first ≤ i < stop: hours, hours × mean °C, and the extremes."""

    first: int
    stop: int
    band_c: float
    hours: float
    degree_hours: float
    coldest_c: float
    warmest_c: float
    plain: bool


class Chunks:
    """The exposure's intervals summed chunk by chunk, once for every law and edge."""

    def __init__(self, exposure: Exposure) -> None:
        self.exposure = exposure
        self.first = min(edge.first for edge in exposure.edges)
        self.sums = [
            self._sums(first, stop, band_c) for first, stop, band_c in self._bounds(exposure)
        ]

    def _bounds(self, exposure: Exposure) -> list[tuple[int, int, float]]:
        """Chunks never reach across a run; a carry is a chunk of its own, as is the low edge's
        late start where a remembered mixing time parts the edges."""
        starts = sorted({edge.first for edge in exposure.edges})
        bounds: list[tuple[int, int, float]] = []
        last = exposure.time_s.size - 1
        for run in exposure.runs:
            cuts = [run.first, *(s for s in starts if run.first < s < run.stop), run.stop - 1]
            for begin, end in pairwise(cuts):
                bounds += [
                    (first, min(first + CHUNK, end), run.band_c)
                    for first in range(max(begin, self.first), end, CHUNK)
                ]
            if self.first <= run.stop - 1 < last:
                bounds.append((run.stop - 1, run.stop, run.band_c))
        return bounds

    def _sums(self, first: int, stop: int, band_c: float) -> _ChunkSums:
        exposure = self.exposure
        knots_c = exposure.temperature_c[first : stop + 1]
        hours = np.diff(exposure.time_s[first : stop + 1]) / SECONDS_PER_HOUR
        begin, end = np.searchsorted(exposure.high.odd, (first, stop))
        return _ChunkSums(
            first,
            stop,
            band_c,
            float(hours.sum()),
            float(hours @ (knots_c[1:] + knots_c[:-1])) / 2.0,
            float(knots_c.min()),
            float(knots_c.max()),
            bool(begin == end),
        )


class Tally:
    """One edge counted under one law. Totals: after the head, after each chunk, after the tail."""

    def __init__(self, chunks: Chunks, edge: EdgeLine, law: Law) -> None:
        self._exposure, self._edge, self._law = chunks.exposure, edge, law
        self._sums = [sums for sums in chunks.sums if sums.first >= edge.first]
        earned = [self._piece(edge.head)]
        earned += [self._chunk(sums) for sums in self._sums]
        earned.append(self._piece(edge.tail))
        self._totals = np.cumsum(np.array(earned))

    @property
    def total(self) -> float | None:
        """The count now, in the law's unit. None: unknown.

        Valid for any exposure. Source: the law, integrated.
        """
        if self._edge.head_unknown or self._edge.tail_unknown:
            return None
        return float(self._totals[-1])

    def reached(self, need: float) -> float | None:
        """When the count first reached `need` (Unix seconds). None: not by now, or unknown.

        Valid for need ≥ 0. Source: exact on straight lines of temperature.
        """
        if self._edge.head_unknown:
            return None
        target = need - _ROUNDING
        at = int(np.searchsorted(self._totals, target, side="left"))
        if at == len(self._totals):
            return None
        before = float(self._totals[at - 1]) if at else 0.0
        if at == 0:
            return self._within(self._edge.head, target)
        if at == len(self._totals) - 1:
            return self._within(self._edge.tail, target - before)
        return self._in_chunk(self._sums[at - 1], target - before)

    def at_knots(self) -> tuple[FloatArray, FloatArray]:
        """Times (Unix seconds) and the count at each, from mixing until now, for drawing.

        nan where unknown. Valid for any exposure. Source: the law, integrated.
        """
        edge, exposure = self._edge, self._exposure
        times = [np.array([edge.start_s])]
        counts = [np.array([0.0])]
        total = float(self._totals[0])
        if edge.head is not None or edge.head_unknown:
            times.append(exposure.time_s[edge.first : edge.first + 1])
            counts.append(np.array([total]))
        for sums in self._sums:
            times.append(exposure.time_s[sums.first + 1 : sums.stop + 1])
            counts.append(total + np.cumsum(self._intervals(sums)))
            total = float(counts[-1][-1])
        if edge.tail is not None:
            times.append(np.array([edge.tail.end_s]))
            counts.append(np.array([float(self._totals[-1])]))
        count = np.concatenate(counts)
        if edge.head_unknown:
            count[:] = np.nan
        return np.concatenate(times), count

    def _piece(self, piece: Piece | None) -> float:
        if piece is None or not piece.earns:
            return 0.0
        hours = np.array([(piece.end_s - piece.start_s) / SECONDS_PER_HOUR])
        start, end = np.array([piece.start_c]), np.array([piece.end_c])
        return float(self._law.earned(hours, start, end)[0])

    def _chunk(self, sums: _ChunkSums) -> float:
        shift = self._edge.sign * sums.band_c
        law = self._law
        zones = law.zones(np.array([sums.coldest_c + shift, sums.warmest_c + shift]))
        zone = int(zones[0])
        if sums.plain and zone == int(zones[1]) and not law.curved[zone]:
            level = float(law.slopes[zone]) * shift + float(law.intercepts[zone])
            return float(law.slopes[zone]) * sums.degree_hours + level * sums.hours
        return float(self._intervals(sums).sum())

    def _intervals(self, sums: _ChunkSums) -> FloatArray:
        """What each interval of a chunk earned."""
        edge, exposure = self._edge, self._exposure
        knots_c = exposure.temperature_c[sums.first : sums.stop + 1] + edge.sign * sums.band_c
        hours = np.diff(exposure.time_s[sums.first : sums.stop + 1]) / SECONDS_PER_HOUR
        earned = self._law.earned(hours, knots_c[:-1], knots_c[1:])
        begin, end = np.searchsorted(edge.odd, (sums.first, sums.stop))
        if begin < end:
            odd = edge.odd[begin:end] - sums.first
            own = self._law.earned(
                hours[odd], edge.odd_start_c[begin:end], edge.odd_end_c[begin:end]
            )
            earned[odd] = np.where(edge.odd_earns[begin:end], own, 0.0)
        return earned

    def _in_chunk(self, sums: _ChunkSums, need: float) -> float:
        edge, exposure = self._edge, self._exposure
        totals = np.cumsum(self._intervals(sums))
        at = min(int(np.searchsorted(totals, need, side="left")), len(totals) - 1)
        i = sums.first + at
        start_s, end_s = float(exposure.time_s[i]), float(exposure.time_s[i + 1])
        odd = int(np.searchsorted(edge.odd, i))
        if odd < edge.odd.size and edge.odd[odd] == i:
            start_c, end_c = float(edge.odd_start_c[odd]), float(edge.odd_end_c[odd])
        else:
            shift = edge.sign * sums.band_c
            start_c = float(exposure.temperature_c[i]) + shift
            end_c = float(exposure.temperature_c[i + 1]) + shift
        rest = need - (float(totals[at - 1]) if at else 0.0)
        return self._within(Piece(start_s, end_s, start_c, end_c), rest)

    def _within(self, piece: Piece | None, need: float) -> float:
        """When a piece has earned `need`."""
        if piece is None:
            return self._edge.start_s
        length_s = piece.end_s - piece.start_s
        hours = length_s / SECONDS_PER_HOUR
        share = self._law.share_for(hours, piece.start_c, piece.end_c, need)
        return piece.start_s + share * length_s
