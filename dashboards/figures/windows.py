"""Each batch's windows and openings as bars in time: measured ones filled, guessed ones hollow."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from dashboards.figures.parts.frame import BLUE, GREY, ORANGE, Drawing, Panel, hidden, y_name
from dashboards.figures.parts.spans import events
from dashboards.figures.parts.timeline import Timeline
from dashboards.figures.parts.told import Told, moment_said
from dashboards.figures.parts.words import as_words
from monitor.answers.views import CountSeries, LayupHistory
from monitor.answers.wording import ABOUT, STAGE_WORDS
from monitor.records import WINDOWS, Edges, Stage, StageAnswer, Verdict

TITLE = "What was open when"
KEY = (
    "A bar from where the careful edge opened: orange for a window that shuts, blue for what stays "
    "open; a diamond where it should have kicked. The thin line before: from the warm edge on, "
    "maybe. Outlined, not filled: test it first. Dashed, after now: a guess."
)

_LANE_PX = 34
_BAR_PX = 10
_HELD = (Verdict.READY, Verdict.DUE, Verdict.SHUT)


@dataclass(frozen=True, slots=True)
class Span:
    """One stage of a batch in Unix seconds: maybe from `maybe_s`, from `from_s` to `to_s`.

    `to_s` None: it stays open. `measured`: else it is a guess.
    """

    stage: Stage
    maybe_s: float | None
    from_s: float | None
    to_s: float | None
    measured: bool
    held: bool
    """Whether the verdict stands by it: not where a test comes first."""


def draw(history: LayupHistory) -> Drawing:
    """One strip a batch, one lane a stage that its sheet gives."""
    panels = tuple(_panel(series) for series in history.counts)
    drawing = Drawing(
        Timeline.of(history),
        panels or (Panel("no batch mixed yet", 0.0, _LANE_PX, _LANE_PX, False, False),),
        history.width_px,
    )
    now_s = history.at.timestamp()
    for number, series in enumerate(history.counts):
        for lane, stage in enumerate(_stages(series)):
            base = drawing.panels[number].high - (lane + 1) * _LANE_PX + 5
            drawing.note(
                x=0, xref="paper", xanchor="left", xshift=3, y=base + _BAR_PX - 1,
                yref=y_name(number), yanchor="bottom", text=STAGE_WORDS[stage],
            )  # fmt: skip
            for span in spans(series, stage, now_s):
                _bar(drawing, number, base, span, now_s)
        # Without a point of its own a panel has no axis to hover along.
        drawing.line(
            number, x=drawing.timeline.x([drawing.timeline.start_s]), y=[None], hoverinfo="skip",
            mode="lines", name="nothing",
        )  # fmt: skip
    events(drawing, history)
    return drawing


def tell(history: LayupHistory) -> Told:
    """Each stage that opened or is expected to, batch by batch."""
    now_s = history.at.timestamp()
    rows = []
    open_now = []
    for series in history.counts:
        for stage in _stages(series):
            for span in spans(series, stage, now_s):
                rows.append(_row(series, span, history))
                if span.measured and span.from_s is not None and span.to_s is None and span.held:
                    open_now.append(f"{series.address} {STAGE_WORDS[stage]}")
    sentence = "Nothing has opened yet."
    if open_now:
        sentence = f"By the count, at {moment_said(now_s, history)}: {', '.join(open_now)}."
    return Told(sentence, ("Batch", "Stage", "From", "Until", "How it is known"), tuple(rows))


def _row(series: CountSeries, span: Span, history: LayupHistory) -> tuple[str, ...]:
    about = "about " if span.stage in ABOUT or not span.measured else ""
    opened, shut = (
        "–" if time_s is None else about + moment_said(time_s, history)
        for time_s in (span.from_s, span.to_s)
    )
    known = "by the count" if span.held else "by the count; test it first"
    return (
        series.address,
        STAGE_WORDS[span.stage],
        opened,
        shut,
        known if span.measured else f"a guess, {series.forecast.basis}",
    )


def spans(series: CountSeries, stage: Stage, now_s: float) -> Iterator[Span]:
    """What is measured of one stage, and apart from it what is guessed. Measured ends at now."""
    answer = next(a for a in series.stages if a.stage is stage)
    opened, shut = _seconds(answer.opens.late), _seconds(_shut(answer).early)
    maybe = _seconds(answer.opens.early)
    unclean = answer.verdict is Verdict.SHUT and shut is None
    if (opened is not None or maybe is not None) and not unclean:
        held = answer.verdict in _HELD or (stage in WINDOWS and shut is not None)
        yield Span(stage, maybe, opened, shut, True, held)
    told = series.forecast.stage(stage)
    if told is None or unclean:
        return
    if opened is None and told.opens.late is not None:
        shuts = None if told.shuts is None else _seconds(told.shuts.early)
        early = _seconds(told.opens.early) or now_s
        yield Span(stage, early, _seconds(told.opens.late), shuts, False, False)
    elif opened is not None and shut is None and told.shuts is not None:
        yield Span(stage, None, now_s, _seconds(told.shuts.early), False, False)


def _shut(answer: StageAnswer) -> Edges:
    return answer.shuts or Edges()


def _seconds(moment: datetime | None) -> float | None:
    return None if moment is None else moment.timestamp()


def _stages(series: CountSeries) -> tuple[Stage, ...]:
    return tuple(answer.stage for answer in series.stages if answer.needs is not None)


def _panel(series: CountSeries) -> Panel:
    height = max(_LANE_PX * len(_stages(series)), _LANE_PX)
    what = f": {as_words(series.what)}" if series.what else ""
    return Panel(f"{as_words(series.address)}{what}", 0.0, height, height, False, False)


def _bar(drawing: Drawing, number: int, base: float, span: Span, now_s: float) -> None:
    timeline = drawing.timeline
    end_s = min(timeline.end_s, now_s) if span.measured else timeline.end_s
    colour = ORANGE if span.stage in WINDOWS else BLUE
    maybe_until = end_s if span.from_s is None else span.from_s
    if span.maybe_s is not None and _overlaps(timeline, span.maybe_s, maybe_until):
        x0, x1 = _clipped(timeline, span.maybe_s, maybe_until)
        dash = "solid" if span.measured else "dot"
        drawing.shape(
            type="line", xref="x", x0=x0, x1=x1, yref=y_name(number), y0=base + _BAR_PX / 2,
            y1=base + _BAR_PX / 2, line={"color": colour, "width": 1.5, "dash": dash},
            name=f"{span.stage} maybe",
        )  # fmt: skip
    if span.from_s is None:
        return
    to_s = end_s if span.to_s is None else span.to_s
    if not _overlaps(timeline, span.from_s, to_s):
        return
    if span.stage is Stage.GEL:
        _kick(drawing, number, base, span, span.from_s)
        return
    x0, x1 = _clipped(timeline, span.from_s, to_s)
    filled = span.measured and span.held
    drawing.shape(
        type="rect", xref="x", x0=x0, x1=x1, yref=y_name(number), y0=base, y1=base + _BAR_PX,
        fillcolor=hidden(colour, 0.85 if filled else 0.0),
        line={
            "color": colour if span.measured else GREY,
            "width": 1.5,
            "dash": "solid" if span.measured else "dash",
        },
        name=f"{span.stage} {'open' if span.measured else 'guess'}",
    )  # fmt: skip


def _kick(drawing: Drawing, number: int, base: float, span: Span, at_s: float) -> None:
    """Gel is a moment, not a time in which something is open."""
    if drawing.timeline.start_s <= at_s:
        drawing.line(
            number,
            x=drawing.timeline.x([at_s]),
            y=[base + _BAR_PX / 2],
            mode="markers",
            marker={
                "symbol": "diamond" if span.measured else "diamond-open",
                "size": 11,
                "color": BLUE if span.measured else GREY,
            },
            name="gel" if span.measured else "gel, a guess",
            hoverinfo="skip",
        )


def _overlaps(timeline: Timeline, from_s: float, to_s: float) -> bool:
    return from_s < to_s and from_s < timeline.end_s and to_s > timeline.start_s


def _clipped(timeline: Timeline, from_s: float, to_s: float) -> list[str]:
    return timeline.x([max(from_s, timeline.start_s), min(to_s, timeline.end_s)])


if __name__ == "__main__":
    from dashboards.figures.parts.sample import write_sample_page

    write_sample_page(draw, tell, TITLE)
