"""One batch on paper: what went in, what it went onto, and how far it came."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime

import numpy as np

from monitor.answers.dated import Dated
from monitor.answers.record_views import BatchRecord, StageLine
from monitor.answers.report import count_line
from monitor.answers.wording import (
    ABOUT,
    BOND_WORDS,
    GAP_WORDS,
    MINUTE_S,
    ROLE_WORDS,
    STAGE_WORDS,
    VERDICT_SHAPES,
    VERDICT_WORDS,
    careful,
    counted,
    reason_said,
)
from monitor.assess import assess
from monitor.cure.bench import resolution
from monitor.cure.beside import spread_of
from monitor.cure.mixing import Weighed, judge_mix
from monitor.overview import BatchView, LayupView
from monitor.records import (
    Assessment,
    Batch,
    BondLine,
    Gap,
    Mark,
    MarkKind,
    Parked,
    Sheet,
    StageAnswer,
)
from monitor.times import from_unix, length_said
from monitor.units import Unit, difference_said

PREPARED = frozenset(
    {
        MarkKind.SANDED_DUST,
        MarkKind.SANDED_GUM,
        MarkKind.WASHED,
        MarkKind.WIPED,
        MarkKind.PEEL_PLY_OFF,
    }
)
"""What is done to a surface before something goes onto it."""

SPOILS = frozenset({MarkKind.RAINED, MarkKind.SUN, MarkKind.UNCOVERED})


def batch_record(seen: LayupView, batch: BatchView, dated: Dated, unit: Unit) -> BatchRecord:
    """One batch, from its weights to its bond line."""
    logged, sheet, a = batch.batch, batch.sheet, batch.worked.assessment
    weighed = Weighed(logged.resin_g, logged.catalyst_g, logged.hardener_g)
    second_g = logged.hardener_g if sheet.kind == "epoxy" else logged.catalyst_g
    pct = weighed.second_part_pct(sheet)
    given = [answer for answer in a.stages if answer.needs is not None]
    return BatchRecord(
        address=f"{seen.layup.number}/{logged.name}",
        what=name_said(logged),
        mixed=_mixed_said(logged, dated),
        sheet=sheet.name,
        resin=_grams(logged.resin_g),
        second_part=sheet.second_part,
        second=_grams(second_g),
        share=None if pct is None else f"{pct:.2f} %",
        judged=judge_mix(sheet, weighed).sentence,
        scale=_scale_said(logged, second_g, sheet),
        resin_tin=logged.resin_tin,
        second_tin=logged.catalyst_tin,
        cup=logged.cup,
        thickness=None if logged.thickness_mm is None else f"{logged.thickness_mm:g} mm",
        waxed=logged.waxed,
        prepared=tuple(_prepared(seen, batch, dated, unit)),
        counted=count_line(a, unit),
        stages=tuple(_stage_line(answer, a, dated, unit) for answer in given),
        silent=tuple(STAGE_WORDS[answer.stage] for answer in a.stages if answer.needs is None),
        gaps=tuple(gap_said(gap, dated) for gap in a.gaps),
        parked=tuple(_parked_said(span, dated) for span in a.parked),
        bond=_bond_said(a.bond_line, dated),
    )


def name_said(batch: Batch) -> str:
    """`skin A`, `patch 2`."""
    number = batch.name.removeprefix(batch.role.value)
    return ROLE_WORDS[batch.role] + (f" {number[1:]}" if number else "")


def _mixed_said(batch: Batch, dated: Dated) -> str:
    minutes = batch.give_or_take.total_seconds()
    sure = f"remembered ± {length_said(minutes)}" if minutes > 0 else "seen"
    return f"{dated.at(batch.mixed_at)}, {sure}"


def _grams(weight_g: float | None) -> str | None:
    return None if weight_g is None else f"{weight_g:g} g"


def _scale_said(batch: Batch, second_g: float | None, sheet: Sheet) -> str | None:
    """What one step of the scale is worth: `steps of 0.1 g: 1.50 % is 1.45 to 1.55 %`."""
    if batch.scale_step_g is None:
        return None
    words = f"steps of {batch.scale_step_g:g} g"
    if not batch.resin_g or not second_g:
        return words
    resolves = resolution(batch.scale_step_g, batch.resin_g, second_g)
    low, high = resolves.hits_pct
    return f"{words}: {resolves.pct:.2f} % may have been {low:.2f} to {high:.2f} %"


def _stage_line(answer: StageAnswer, a: Assessment, dated: Dated, unit: Unit) -> StageLine:
    opens, shuts = answer.opens, answer.shuts
    about = "about " if answer.stage in ABOUT else ""
    band = [
        f"{word} {dated.beside(edge, opens.late)}"
        for word, edge in (("early", opens.early), ("middle", opens.middle))
        if edge is not None
    ]
    shut = None
    if shuts is not None and shuts.early is not None:
        by = ", by the sheet's plain hours" if answer.shut_by == "hours" else ""
        shut = f"{about}{dated.at(careful(shuts.early, MINUTE_S, later=False))}{by}"
    opened = None
    if opens.late is not None:
        opened = about + dated.at(careful(opens.late, MINUTE_S, later=True))
    return StageLine(
        STAGE_WORDS[answer.stage],
        " to ".join(f"{counted(need, a, unit):.0f}" for need in answer.needs or ()),
        VERDICT_SHAPES[answer.verdict],
        VERDICT_WORDS[answer.verdict],
        opened,
        ", ".join(band) or None,
        shut,
        reason_said(answer, a, unit),
    )


def gap_said(gap: Gap, dated: Dated) -> str:
    """One time that nobody measured, and what somebody says of it."""
    words = f"{dated.lasted(gap.start, gap.end)}: {GAP_WORDS[gap.why]}"
    if gap.said_until is not None:
        words += f"; warm until {dated.at(gap.said_until)}: said, not measured"
    return words


def _parked_said(span: Parked, dated: Dated) -> str:
    if span.end is None:
        return f"from {dated.at(span.start)}, still so at the end of this record"
    return dated.lasted(span.start, span.end)


def _bond_said(bond: BondLine, dated: Dated) -> str:
    words = BOND_WORDS[bond.state]
    if bond.state == "chemical" and bond.until is not None:
        words += f" until {dated.at(bond.until)} at the latest"
    told = f"{words}. {bond.reason}"
    if bond.sanded_at is not None:
        since = f", since then {', '.join(bond.since_sanded)}" if bond.since_sanded else ""
        told += f" Sanded {dated.at(bond.sanded_at)}{since}."
    return told


def _prepared(seen: LayupView, batch: BatchView, dated: Dated, unit: Unit) -> Iterator[str]:
    """What was done to the surface since the batch before, how long before, and what came after."""
    mixed = batch.batch.mixed_at
    before = [b.batch.mixed_at for b in seen.batches if b.batch.mixed_at < mixed]
    since = max(before, default=None)
    marks = [m for m in seen.marks if m.at <= mixed and (since is None or m.at > since)]
    done = [mark for mark in marks if mark.kind in PREPARED]
    for mark in done:
        note = f" “{mark.note}”" if mark.note else ""
        ago = length_said((mixed - mark.at).total_seconds())
        yield f"{mark_words(mark)}{note}, {dated.at(mark.at)}, {ago} before it"
    if not done:
        return
    last = done[-1].at
    spread = _least_spread(batch, last, mixed)
    if spread is not None:
        at, spread_c = spread
        yield (
            f"between that and this batch at least {difference_said(spread_c, unit)} above the "
            f"dew point, {dated.at(at)}"
            if spread_c > 0.0
            else f"the surface was WET, {dated.at(at)}"
        )
    for mark in marks:
        if mark.kind in SPOILS and mark.at > last:
            yield f"{mark_words(mark)}, {dated.at(mark.at)}"


def mark_words(mark: Mark) -> str:
    return mark.kind.replace("-", " ")


def _least_spread(
    batch: BatchView, start: datetime, end: datetime
) -> tuple[datetime, float] | None:
    found: list[tuple[float, float]] = []
    for stay in batch.case.watched:
        time_s, spread = spread_of(stay)
        inside = (time_s >= start.timestamp()) & (time_s <= end.timestamp())
        if inside.any():
            least = int(np.argmin(spread[inside]))
            found.append((float(spread[inside][least]), float(time_s[inside][least])))
    if not found:
        return None
    spread_c, at_s = min(found)
    return from_unix(at_s), spread_c


def count_at(batch: BatchView, moment: datetime, unit: Unit) -> str:
    """`174 (98 to 206)`: the count when something was seen, by the readings up to then."""
    upto_s = moment.timestamp()
    stays = tuple(
        replace(stay, readings=stay.readings.between(0.0, upto_s)) for stay in batch.case.counted
    )
    # What lies ahead has no part in it, and is what takes the longest.
    case = replace(batch.case, counted=stays, watched=stays, outlook=None, dew=None)
    a = assess(case, moment)
    low, middle, high = (
        None if value is None else f"{counted(value, a, unit):.0f}"
        for value in (a.count.low, a.count.middle, a.count.high)
    )
    if middle is None or high is None:
        return f"at least {low}"
    return f"{middle} ({low} to {high})"
