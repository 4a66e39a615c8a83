"""The count: each edge's line under a law, in totals a chunk, with exact crossings.

Chunks keep the working set in the processor's cache. A chunk whose temperatures stay in one
straight zone of the law costs four sums; any other is counted interval by interval.
"""

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import accumulate, pairwise

import numpy as np

from monitor.cure.exposure import EdgeLine, Exposure, Piece
from monitor.cure.law import Law
from monitor.records import FloatArray
from monitor.units import SECONDS_PER_HOUR

CHUNK = 2_048
_ROUNDING = 1e-9
"""A count this close below a need has reached it: sums of many small floats end just short."""


class Chunks:
    """The exposure's intervals summed chunk by chunk, once for every law and edge.

    Chunk i holds intervals `first[i]` ≤ interval < `stop[i]` of one run. `hours` and
    `degree_hours` (hours × mean °C) are sums over it, `coldest_c` and `warmest_c` its extremes;
    `plain`: every interval follows its two readings.
    """

    def __init__(self, exposure: Exposure) -> None:
        self.exposure = exposure
        bounds = list(self._bounds(exposure))
        self.first = [first for first, _, _ in bounds]
        self.stop = [stop for _, stop, _ in bounds]
        self.band_c = [band_c for _, _, band_c in bounds]
        odd: list[int] = exposure.high.odd.tolist()
        self.plain = [bisect_left(odd, a) == bisect_left(odd, b) for a, b, _ in bounds]
        sums = [self._sums(first, stop) for first, stop, _ in bounds]
        self.hours = [hours for hours, _, _, _ in sums]
        self.degree_hours = [degree_hours for _, degree_hours, _, _ in sums]
        self.coldest_c = [coldest_c for _, _, coldest_c, _ in sums]
        self.warmest_c = [warmest_c for _, _, _, warmest_c in sums]

    @staticmethod
    def _bounds(exposure: Exposure) -> Iterator[tuple[int, int, float]]:
        """Chunks never reach across a run; a carry is a chunk of its own, as is what lies between
        the edges' starts where a remembered mixing time parts them."""
        starts = sorted({edge.first for edge in exposure.edges})
        last = exposure.time_s.size - 1
        for run in exposure.runs:
            cuts = [run.first, *(s for s in starts if run.first < s < run.stop), run.stop - 1]
            for begin, end in pairwise(cuts):
                for first in range(max(begin, starts[0]), end, CHUNK):
                    yield first, min(first + CHUNK, end), run.band_c
            if starts[0] <= run.stop - 1 < last:
                yield run.stop - 1, run.stop, run.band_c

    def _sums(self, first: int, stop: int) -> tuple[float, float, float, float]:
        knots_c = self.exposure.temperature_c[first : stop + 1]
        hours = np.diff(self.exposure.time_s[first : stop + 1]) / SECONDS_PER_HOUR
        degree_hours = float(hours @ (knots_c[1:] + knots_c[:-1])) / 2.0
        return float(hours.sum()), degree_hours, float(knots_c.min()), float(knots_c.max())


@dataclass(frozen=True)
class Brought:
    """What one edge had earned under one law before the exposure begins, in the law's unit.

    `reached`: the needs it had reached by then, and when (Unix seconds).
    """

    total: float = 0.0
    reached: Mapping[float, float] = field(default_factory=dict)


NOTHING_BROUGHT = Brought()


class Tally:
    """One edge counted under one law. Totals: after the head, after each chunk, after the tail."""

    def __init__(
        self, chunks: Chunks, edge: EdgeLine, law: Law, brought: Brought = NOTHING_BROUGHT
    ) -> None:
        self._brought = brought
        self._exposure, self._edge, self._law = chunks.exposure, edge, law
        self._chunks = chunks
        self._skipped = bisect_left(chunks.first, edge.first)
        self._totals = list(
            accumulate(
                (
                    brought.total + self._piece(edge.head),
                    *self._earned_by_chunk(),
                    self._piece(edge.tail),
                )
            )
        )

    @property
    def total(self) -> float | None:
        """The count now, in the law's unit. None: unknown.

        Valid for any exposure. Source: the law, integrated.
        """
        if self._edge.head_unknown or self._edge.tail_unknown:
            return None
        return self._totals[-1]

    def reached(self, need: float) -> float | None:
        """When the count first reached `need` (Unix seconds). None: not by now, or unknown.

        Valid for need ≥ 0. Source: exact on straight lines of temperature.
        """
        if self._edge.head_unknown:
            return None
        if need in self._brought.reached:
            return self._brought.reached[need]
        target = need - _ROUNDING
        at = bisect_left(self._totals, target)
        if at == len(self._totals):
            return None
        before = self._totals[at - 1] if at else 0.0
        if at == 0:
            return self._within(self._edge.head, target)
        if at == len(self._totals) - 1:
            return self._within(self._edge.tail, target - before)
        return self._in_chunk(self._skipped + at - 1, target - before)

    def so_far(self, needs: Iterable[float]) -> Brought:
        """What a count that goes on from here brings with it.

        Valid for an exposure that ends at a knot. Source: the law, integrated.
        """
        reached = {need: at_s for need in needs if (at_s := self.reached(need)) is not None}
        return Brought(self._totals[-1], reached)

    def at_knots(self) -> tuple[FloatArray, FloatArray]:
        """Times (Unix seconds) and the count at each, from mixing until now, for drawing.

        nan where unknown. Valid for any exposure. Source: the law, integrated.
        """
        edge, exposure = self._edge, self._exposure
        times = [np.array([edge.start_s])]
        counts = [np.array([0.0])]
        total = self._totals[0]
        if edge.head is not None or edge.head_unknown:
            times.append(exposure.time_s[edge.first : edge.first + 1])
            counts.append(np.array([total]))
        for chunk in range(self._skipped, len(self._chunks.first)):
            first, stop = self._chunks.first[chunk], self._chunks.stop[chunk]
            times.append(exposure.time_s[first + 1 : stop + 1])
            counts.append(total + np.cumsum(self._intervals(chunk)))
            total = float(counts[-1][-1])
        if edge.tail is not None:
            times.append(np.array([edge.tail.end_s]))
            counts.append(np.array([self._totals[-1]]))
        count = np.concatenate(counts)
        if edge.head_unknown:
            count[:] = np.nan
        return np.concatenate(times), count

    def _piece(self, piece: Piece | None) -> float:
        if piece is None or not piece.earns:
            return 0.0
        hours = (piece.end_s - piece.start_s) / SECONDS_PER_HOUR
        return self._law.earned_on(hours, piece.start_c, piece.end_c)

    def _earned_by_chunk(self) -> list[float]:
        """A plain chunk in one straight zone from its sums, any other interval by interval."""
        chunks, sign = self._chunks, self._edge.sign
        earned = []
        for i in range(self._skipped, len(chunks.first)):
            shift_c, hours = sign * chunks.band_c[i], chunks.hours[i]
            line = self._line(i)
            if line is None or not chunks.plain[i]:
                earned.append(float(self._intervals(i).sum()))
            else:
                slope, at_0 = line
                earned.append(slope * (chunks.degree_hours[i] + shift_c * hours) + at_0 * hours)
        return earned

    def _line(self, chunk: int) -> tuple[float, float] | None:
        """Slope and intercept of the one straight zone a chunk keeps to; None: it doesn't."""
        chunks, shift_c = self._chunks, self._edge.sign * self._chunks.band_c[chunk]
        coldest_c, warmest_c = chunks.coldest_c[chunk], chunks.warmest_c[chunk]
        return self._law.line_over(coldest_c + shift_c, warmest_c + shift_c)

    def _intervals(self, chunk: int) -> FloatArray:
        """What each interval of a chunk earned."""
        edge, exposure = self._edge, self._exposure
        first, stop = self._chunks.first[chunk], self._chunks.stop[chunk]
        shift_c = edge.sign * self._chunks.band_c[chunk]
        knots_c = exposure.temperature_c[first : stop + 1] + shift_c
        hours = np.diff(exposure.time_s[first : stop + 1]) / SECONDS_PER_HOUR
        line = self._line(chunk)
        if line is None:
            earned = self._law.earned(hours, knots_c[:-1], knots_c[1:])
        else:
            slope, at_0 = line
            earned = hours * (slope * ((knots_c[:-1] + knots_c[1:]) / 2.0) + at_0)
        begin, end = np.searchsorted(edge.odd, (first, stop))
        if begin < end:
            odd = edge.odd[begin:end] - first
            own = self._law.earned(
                hours[odd], edge.odd_start_c[begin:end], edge.odd_end_c[begin:end]
            )
            earned[odd] = edge.odd_share[begin:end] * own
        return earned

    def _in_chunk(self, chunk: int, need: float) -> float:
        edge, exposure = self._edge, self._exposure
        totals = np.cumsum(self._intervals(chunk))
        at = min(int(np.searchsorted(totals, need, side="left")), len(totals) - 1)
        i = self._chunks.first[chunk] + at
        start_s, end_s = float(exposure.time_s[i]), float(exposure.time_s[i + 1])
        odd = int(np.searchsorted(edge.odd, i))
        if odd < edge.odd.size and edge.odd[odd] == i:
            start_c, end_c = float(edge.odd_start_c[odd]), float(edge.odd_end_c[odd])
            end_s = start_s + float(edge.odd_share[odd]) * (end_s - start_s)
        else:
            shift_c = edge.sign * self._chunks.band_c[chunk]
            start_c = float(exposure.temperature_c[i]) + shift_c
            end_c = float(exposure.temperature_c[i + 1]) + shift_c
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
