"""Charts: what is drawn is what was measured and counted, nothing between and nothing else."""

import math
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from plotly.graph_objects import Figure

from dashboards.figures import FIGURES, charts
from dashboards.figures.parts.sample import sample_history
from dashboards.figures.parts.timeline import Timeline
from monitor.answers.counts import standing_of
from monitor.answers.picture import kept_of, picture
from monitor.answers.views import Band, LayupHistory, StaySeries
from monitor.records import Channel, Mark, MarkKind, Nearness
from monitor.times import from_unix
from tests.dashboards.conftest import NOW
from tests.scenarios.shop import ShopAtHand

ROOT = Path(__file__).parents[2]
CHARTS = charts()
GUESSED = {"guess", "guess, low", "guess, high"}
BY_NAME = {chart.name: chart for chart in CHARTS}
EMPTY = LayupHistory(
    7, "cleat pad", NOW, "UTC", "c", NOW.timestamp(), NOW.timestamp(), (), (), (), ()
)


def stay_of(time_s: list[float], temperature_c: list[float]) -> StaySeries:
    times, column = np.array(time_s), np.array(temperature_c)
    nothing = np.empty(0)
    return StaySeries(
        "shed", Channel.AIR, Nearness.BESIDE, times, column, column + 40, column - 8,
        np.full(times.size, 8.0), nothing, nothing,
    )  # fmt: skip


def with_readings(time_s: list[float], temperature_c: list[float]) -> LayupHistory:
    return replace(
        EMPTY,
        at=from_unix(time_s[-1]),
        start_s=time_s[0],
        end_s=time_s[-1],
        stays=(stay_of(time_s, temperature_c),),
    )


def drawing(chart, history: LayupHistory) -> Figure:
    """The chart as the plotting library understands it: it refuses what it doesn't."""
    return Figure(chart.draw(history).spec())


def traces(figure, name: str) -> list:
    return [trace for trace in figure.data if trace.name == name]


def drawn(trace) -> list[tuple[str, float]]:
    return [(x, y) for x, y in zip(trace.x, trace.y, strict=True) if y is not None]


def hatched(figure) -> list[tuple[str, str]]:
    """From–to of each hatched span of the first panel."""
    spans = []
    for trace in traces(figure, "not measured")[:1]:
        corners = [x for x in trace.x if x is not None]
        spans += [(corners[i], corners[i + 2]) for i in range(0, len(corners), 5)]
    return spans


def test_every_chart_of_the_folder_is_listed() -> None:
    """A chart that is written is a chart that is shown."""
    folder = Path(sys.modules["dashboards.figures"].__file__ or "").parent
    modules = {path.stem for path in folder.glob("*.py")} - {"__init__"}
    assert set(FIGURES) == modules
    assert [chart.name for chart in CHARTS] == list(FIGURES)


@pytest.mark.parametrize("chart", CHARTS, ids=lambda chart: chart.name)
def test_nothing_yet_is_an_empty_chart_and_a_sentence(chart) -> None:
    """A layup without a reading or a mix has axes, no line, and says so."""
    figure = drawing(chart, EMPTY)
    assert all(not drawn(trace) for trace in figure.data)
    told = chart.tell(EMPTY)
    assert "yet" in told.sentence
    assert told.rows == ()


@pytest.mark.parametrize(
    "chart", [BY_NAME["temperature"], BY_NAME["humidity"]], ids=lambda c: c.name
)
def test_one_reading_is_a_dot(chart) -> None:
    """A line of one point would not show."""
    history = with_readings([NOW.timestamp()], [18.44])
    lines = [trace for trace in drawing(chart, history).data if trace.name.startswith("shed")]
    assert lines
    assert all("markers" in trace.mode and len(drawn(trace)) == 1 for trace in lines)


def test_each_number_drawn_is_one_of_the_history() -> None:
    """Good readings, to two decimals, at their own times, none left out."""
    history = sample_history()
    (stay,) = history.stays
    figure = drawing(BY_NAME["temperature"], history)
    x = Timeline.of(history).x
    (line,) = traces(figure, "shed, air")
    assert drawn(line) == list(
        zip(x(stay.time_s), np.round(stay.temperature_c, 2).tolist(), strict=True)
    )


def test_suspect_readings_are_hollow_and_never_joined() -> None:
    """Each is one of the history; where they would cover each other, the extremes stand for all."""
    history = sample_history()
    (stay,) = history.stays
    figure = drawing(BY_NAME["temperature"], history)
    x = Timeline.of(history).x
    (hollow,) = traces(figure, "shed, air, suspect")
    assert (hollow.mode, hollow.marker.symbol) == ("markers", "circle-open")
    suspect = np.round(stay.suspect_temperature_c, 2).tolist()
    all_of_them = list(zip(x(stay.suspect_time_s), suspect, strict=True))
    assert set(drawn(hollow)) <= set(all_of_them)
    assert 2 <= len(drawn(hollow)) < len(all_of_them)
    values = [y for _, y in drawn(hollow)]
    assert (min(values), max(values)) == (min(suspect), max(suspect))
    few = replace(
        stay,
        suspect_time_s=stay.suspect_time_s[[0, -1]],
        suspect_temperature_c=stay.suspect_temperature_c[[0, -1]],
    )
    (both,) = traces(
        drawing(BY_NAME["temperature"], replace(history, stays=(few,))), "shed, air, suspect"
    )
    assert drawn(both) == [all_of_them[0], all_of_them[-1]]


def test_humidity_dew_point_and_spread_are_those_of_the_history() -> None:
    """One strip each, from the same moments."""
    history = sample_history()
    (stay,) = history.stays
    strips = traces(drawing(BY_NAME["humidity"], history), "shed")
    wanted = (stay.humidity_pct, stay.dew_point_c, stay.spread_c)
    assert [trace.yaxis for trace in strips] == ["y", "y2", "y3"]
    for trace, column in zip(strips, wanted, strict=True):
        assert [y for _, y in drawn(trace)] == np.round(column, 2).tolist()


def test_the_count_is_that_of_the_history_with_its_band() -> None:
    """Low, middle and high at the same times; the band is filled between low and high."""
    history = sample_history()
    (series,) = history.counts
    figure = drawing(BY_NAME["count"], history)
    for name in ("low", "middle", "high"):
        (trace,) = traces(figure, name)
        assert [y for _, y in drawn(trace)] == np.round(getattr(series, name), 2).tolist()
    (band,) = traces(figure, "low to high")
    n = series.time_s.size
    outline = [y for _, y in drawn(band)]
    assert outline[1 : n + 1] == np.round(series.low, 2).tolist()
    assert outline[n + 3 : 2 * n + 3] == np.round(series.high, 2)[::-1].tolist()


def test_an_unknown_edge_is_not_drawn() -> None:
    """Where only the low edge is known, the others have no number."""
    history = sample_history()
    (series,) = history.counts
    unknown = np.where(series.time_s > series.time_s[-20], np.nan, series.high)
    figure = drawing(BY_NAME["count"], replace(history, counts=(replace(series, high=unknown),)))
    (high,) = traces(figure, "high")
    assert list(high.y[-19:]) == [None] * 19


def test_no_line_is_joined_across_a_silence() -> None:
    """Readings 15 minutes apart are joined, 15 min 1 s apart are not; a silence is hatched."""
    start = NOW.timestamp()
    minutes = [0, 5, 10, 15, 30, 45 + 1 / 60, 50, 55, 60, 65, 70]
    history = with_readings([start + 60 * m for m in minutes], [20.0 + m for m in minutes])
    history = replace(history, silences=((start + 1800.0, start + 2701.0),))
    figure = drawing(BY_NAME["temperature"], history)
    (line,) = traces(figure, "shed, air")
    assert [i for i, y in enumerate(line.y) if y is None] == [5]
    assert hatched(figure) == [("2026-05-03T08:30:00", "2026-05-03T08:45:01")]


def test_a_logger_that_speaks_every_half_hour_is_joined() -> None:
    """Silence is 2.5 of the sensor's own steps where that is longer."""
    start = NOW.timestamp()
    steps = [0, 30, 60, 90, 120, 210]
    history = with_readings([start + 60 * m for m in steps], [20.0] * 6)
    (line,) = traces(drawing(BY_NAME["temperature"], history), "shed, air")
    assert [i for i, y in enumerate(line.y) if y is None] == [5]
    assert "markers" in line.mode


def test_count_hatches_the_gaps_and_shades_the_parked_times() -> None:
    """As the count has them."""
    history = sample_history(zone="UTC")
    (series,) = history.counts
    figure = drawing(BY_NAME["count"], history)
    iso = "%Y-%m-%dT%H:%M:%S"
    assert hatched(figure) == [(f"{g.start:{iso}}", f"{g.end:{iso}}") for g in series.gaps]
    parked = [shape for shape in figure.layout.shapes if shape.name == "parked"]
    assert [(s.x0, s.x1) for s in parked] == [
        (f"{p.start:{iso}}", f"{p.end:{iso}}") for p in series.parked
    ]


def test_stage_lines_stand_where_the_sheet_says() -> None:
    """Each opening need below the chart's top has a line, and its word."""
    figure = drawing(BY_NAME["count"], sample_history())
    lines = sorted(shape.y0 for shape in figure.layout.shapes if shape.name == "stage")
    assert lines == [10.0, 18.0, 75.0, 240.0]
    words = " ".join(note.text for note in figure.layout.annotations)
    for word in ("gel 10", "recoat 10", "knife trim 18", "flip 75", "sand 240"):
        assert word in words


def test_windows_are_drawn_as_long_as_they_were_open() -> None:
    """From the late edge of opening to the early edge of shutting, or to now and no further."""
    history = sample_history(zone="UTC")
    (series,) = history.counts
    shapes = drawing(BY_NAME["windows"], history).layout.shapes
    bars = {s.name: (s.x0, s.x1) for s in shapes}
    knife = next(a for a in series.stages if a.stage == "knife_trim")
    at = Timeline.of(history).at
    assert knife.opens.late is not None
    assert knife.shuts is not None
    assert knife.shuts.early is not None
    assert bars["knife_trim open"] == (at(knife.opens.late), at(knife.shuts.early))
    assert bars["recoat open"][1] == at(history.at)
    assert bars["recoat guess"] == (at(history.at), Timeline.of(history).x([history.end_s])[0])
    flip = next(a for a in series.stages if a.stage == "flip")
    assert flip.opens.early is not None
    assert flip.opens.late is not None
    assert bars["flip maybe"] == (at(flip.opens.early), at(flip.opens.late))
    assert bars["flip open"] == (at(flip.opens.late), at(history.at))


def test_marks_are_thin_labelled_lines_on_every_chart() -> None:
    """Each inside the time drawn has a line; words that would collide go into another lane.

    Alerts have lines of their own, in another dash, and a sign before their word.
    """
    history = sample_history()
    for chart in CHARTS:
        figure = drawing(chart, history)
        at = Timeline.of(history).at
        for name, moments in (
            ("marks", [mark.at for mark in history.marks]),
            ("alerts", [alert.raised_at for alert in history.alerts]),
            ("now", [history.at]),
        ):
            lines = traces(figure, name)
            assert len(lines) == len({axis for axis in figure.layout if axis.startswith("yaxis")})
            assert all(line.x[::3] == tuple(at(moment) for moment in moments) for line in lines)
        assert traces(figure, "marks")[0].line.dash != traces(figure, "alerts")[0].line.dash
        words = {note.text: note.yshift for note in figure.layout.annotations}
        assert {"kicked", "trimmed clean", "covered", "uncovered", "now"} <= set(words)
        assert "! out of range" in words
        assert words["kicked"] != words["trimmed clean"]


def test_many_marks_at_once_don_t_pile_up() -> None:
    """Past three lanes the rest are counted, and every mark keeps its line."""
    begin = sample_history().start_s
    marks = tuple(
        Mark(i, 1, None, MarkKind.THUMBNAIL_DENT, from_unix(begin + 60 * i)) for i in range(9)
    )
    history = replace(sample_history(), marks=marks, width_px=370, alerts=())
    figure = drawing(BY_NAME["temperature"], history)
    words = [n.text for n in figure.layout.annotations if n.text.startswith("thumbnail")]
    assert words == ["thumbnail dent", "thumbnail dent", "thumbnail dent +6"]
    assert len(traces(figure, "marks")[0].x) == 3 * 9


def test_the_sheets_lines_are_drawn_behind_the_readings() -> None:
    """Working range as a band, floor and hot limit as lines, spread limit on its own strip."""
    warm = sample_history()
    (stay,) = warm.stays
    hot = replace(warm, stays=(replace(stay, temperature_c=stay.temperature_c + 25.0),))
    shapes = drawing(BY_NAME["temperature"], hot).layout.shapes
    (band,) = (shape for shape in shapes if shape.name == "working range")
    assert (band.y0, band.y1, band.layer) == (15.0, 30.0, "below")
    assert {10.0, 60.0} <= {shape.y0 for shape in shapes}
    limits = [s for s in drawing(BY_NAME["humidity"], warm).layout.shapes if s.line.dash == "dash"]
    assert [(s.yref, s.y0) for s in limits] == [("y", 80.0), ("y3", 3.0)]


def test_fahrenheit_moves_points_and_scales_differences() -> None:
    """20 °C is 68 °F, a spread of 3 °C is 5.4 °F, 240 °C-hours are 432 °F-hours.

    Source: NIST SP 811, B.8.
    """
    celsius, fahrenheit = sample_history("c"), sample_history("f")
    for name, trace, turned in (
        ("temperature", "shed, air", lambda c: 1.8 * c + 32.0),
        ("count", "middle", lambda c: 1.8 * c),
    ):
        (cold,) = traces(drawing(BY_NAME[name], celsius), trace)
        (warm,) = traces(drawing(BY_NAME[name], fahrenheit), trace)
        pairs = zip(drawn(cold), drawn(warm), strict=True)
        assert all(abs(turned(c) - f) < 0.02 for (_, c), (_, f) in pairs)
    spread = traces(drawing(BY_NAME["humidity"], fahrenheit), "shed")[2]
    assert spread.y[0] == pytest.approx(1.8 * celsius.stays[0].spread_c[0], abs=0.01)
    limits = [
        s.y0 for s in drawing(BY_NAME["humidity"], fahrenheit).layout.shapes if s.yref == "y3"
    ]
    assert 5.4 in [round(y, 9) for y in limits]
    assert any(s.y0 == 432.0 for s in drawing(BY_NAME["count"], fahrenheit).layout.shapes)


@pytest.mark.parametrize(
    ("zone", "begin", "said"),
    [
        # Clocks went forward at 01:00 UTC on 29 March 2026 and back on 25 October 2026, in all
        # of the European Union (Directive 2000/84/EC; IANA time zone database).
        ("Europe/Lisbon", datetime(2026, 3, 28, 20, tzinfo=UTC), "put forward Sun 29 Mar"),
        ("Europe/Lisbon", datetime(2026, 10, 24, 20, tzinfo=UTC), "put back Sun 25 Oct"),
    ],
    ids=["forward", "back"],
)
def test_a_clock_change_neither_stretches_nor_folds_the_line(
    zone: str, begin: datetime, said: str
) -> None:
    """Every step is as long as it was, the axis reads as the wall clock on both sides, and says so.

    What is written under the axis is the clock's own time there; `shifts` tells the page how far
    off the axis is before the change.
    """
    times = [begin.timestamp() + 300.0 * i for i in range(145)]
    history = replace(with_readings(times, [18.0] * 145), zone=zone)
    figure = drawing(BY_NAME["temperature"], history)
    (line,) = traces(figure, "shed, air")
    moments = [datetime.fromisoformat(x) for x in line.x]
    assert {b - a for a, b in pairwise(moments)} == {timedelta(minutes=5)}
    end = from_unix(times[-1]).astimezone(ZoneInfo(zone)).replace(tzinfo=None)
    assert moments[-1] == end
    assert said in figure.layout.xaxis.title.text.partition("<br>")[2]
    meta = figure.layout.meta
    ((changed_x, by_s),) = meta["shifts"]
    for x, text in zip(figure.layout.xaxis.tickvals, figure.layout.xaxis.ticktext, strict=True):
        time_s = datetime.fromisoformat(x).replace(tzinfo=UTC).timestamp() - meta["offset_s"]
        local = from_unix(time_s).astimezone(ZoneInfo(zone)).replace(tzinfo=None)
        assert text.startswith(f"{local:%H:%M}")
        shifted = datetime.fromisoformat(x) + timedelta(seconds=by_s if x < changed_x else 0)
        assert shifted == local


def test_the_axis_names_its_zone_and_reads_local() -> None:
    """10:20 UTC in May is 11:20 in Lisbon (UTC+1 in summer; IANA time zone database)."""
    start = datetime(2026, 5, 2, 10, 20, tzinfo=UTC).timestamp()
    history = replace(with_readings([start, start + 60], [18.0, 18.0]), zone="Europe/Lisbon")
    figure = drawing(BY_NAME["temperature"], history)
    (line,) = traces(figure, "shed, air")
    assert line.x[0] == "2026-05-02T11:20:00"
    assert figure.layout.xaxis.title.text == "Clock of Europe/Lisbon"


@pytest.mark.parametrize("chart", CHARTS, ids=lambda chart: chart.name)
def test_a_chart_fits_both_schemes(chart) -> None:
    """Grounds are clear, and text leaves its colour to the page."""
    figure = drawing(chart, sample_history())
    assert figure.layout.paper_bgcolor == figure.layout.plot_bgcolor == "rgba(0,0,0,0)"
    assert figure.layout.font.color is None
    own = {note.text for note in figure.layout.annotations if note.font.color is not None}
    assert own == set()


@pytest.mark.parametrize("chart", CHARTS, ids=lambda chart: chart.name)
def test_what_is_told_is_what_is_drawn(chart) -> None:
    """Every row of the small table has as many cells as columns; its last row is the newest."""
    history = sample_history(zone="UTC")
    told = chart.tell(history)
    assert 2 <= len(told.rows) <= 12
    assert {len(row) for row in told.rows} == {len(told.columns)}
    if chart.name in ("temperature", "count"):
        assert told.rows[-1][0] in told.sentence
    if chart.name != "windows":
        numbers = [cell for row in told.rows for cell in row[2:]]
        assert all(cell == "–" or not math.isnan(float(cell)) for cell in numbers)


def moments_of(trace) -> list[str]:
    return [x for x in trace.x if x is not None]


@pytest.mark.parametrize("chart", CHARTS, ids=lambda chart: chart.name)
def test_what_is_measured_stops_at_now_and_a_guess_begins_there(chart) -> None:
    """No line, span or bar crosses now; guesses are broken lines, and say what they rest on."""
    history = sample_history()
    figure = drawing(chart, history)
    now = Timeline.of(history).at(history.at)
    guesses = [trace for trace in figure.data if (trace.name or "").startswith("guess")]
    for trace in figure.data:
        if trace in guesses:
            assert min(moments_of(trace)) >= now
            assert trace.mode == "none" or trace.line.dash not in (None, "solid")
        elif trace.name not in ("nothing", "gel, a guess"):
            assert max(moments_of(trace)) <= now
    for shape in figure.layout.shapes:
        if shape.xref == "x" and shape.name.endswith((" open", "parked")):
            assert shape.x1 <= now
        if shape.xref == "x" and shape.name.endswith(" guess"):
            assert shape.x0 >= now
            assert shape.line.dash == "dash"
    words = " ".join(note.text for note in figure.layout.annotations)
    assert ("tonight like last night" in words) == bool(guesses)
    assert bool(guesses) == (chart.name in ("count", "temperature"))
    told = chart.tell(history)
    assert ("guess" in told.sentence + str(told.rows)) == (chart.name in ("count", "windows"))


def test_the_guess_of_the_count_starts_where_the_count_ends() -> None:
    """Each edge goes on from its own last value, and none falls."""
    history = sample_history()
    (series,) = history.counts
    figure = drawing(BY_NAME["count"], history)
    assert series.ahead is not None
    for name, column in (
        ("guess", series.ahead.middle),
        ("guess, low", series.ahead.low),
        ("guess, high", series.ahead.high),
    ):
        (trace,) = traces(figure, name)
        assert [y for _, y in drawn(trace)] == np.round(column, 2).tolist()
    without = replace(history, end_s=history.at.timestamp())
    assert not {t.name for t in drawing(BY_NAME["count"], without).data} & GUESSED


def far_off(step_s: float = 86_400.0, days: int = 365) -> LayupHistory:
    """A year in days, each with a spread of its own."""
    begin = datetime(2025, 1, 1, tzinfo=UTC).timestamp()
    time_s = begin + step_s * (np.arange(days) + 0.5)
    mean = 12.0 + 8.0 * np.sin(np.arange(days) / 58.0)
    nothing = np.empty(0)
    stay = StaySeries(
        "shed", Channel.AIR, Nearness.BESIDE, time_s, mean, mean + 50, mean - 4,
        np.full(days, 4.0), nothing, nothing, step_s,
        Band(mean - 5.5, mean + 6.25), Band(mean + 30, mean + 70), Band(mean * 0 + 1, mean * 0 + 9),
    )  # fmt: skip
    return replace(EMPTY, start_s=begin, end_s=time_s[-1], stays=(stay,))


def test_from_far_off_the_band_holds_the_lowest_and_the_highest() -> None:
    """The outline of the band is the buckets' extremes, to two decimals, each at its own time."""
    history = far_off()
    (stay,) = history.stays
    assert stay.temperature_band_c is not None
    figure = drawing(BY_NAME["temperature"], history)
    (band,) = traces(figure, "shed, air, lowest to highest")
    n = stay.time_s.size
    outline = drawn(band)
    x = Timeline.of(history).x(stay.time_s)
    low, high = stay.temperature_band_c.low, stay.temperature_band_c.high
    assert outline[1 : n + 1] == list(zip(x, np.round(low, 2).tolist(), strict=True))
    backward = outline[n + 3 : 2 * n + 3]
    assert backward == list(zip(x[::-1], np.round(high, 2)[::-1].tolist(), strict=True))
    assert (band.fill, band.mode) == ("toself", "none")
    panel = figure.layout.yaxis.range
    assert panel[0] <= low.min()
    assert panel[1] >= high.max()
    humid, spread = traces(drawing(BY_NAME["humidity"], history), "shed, lowest to highest")
    assert (humid.yaxis, spread.yaxis) == ("y", "y3")
    told = BY_NAME["temperature"].tell(history).sentence
    assert f"from {low.min():.1f} to {high.max():.1f} °C" in told
    assert "the mean of 24 h" in told


def test_a_band_is_broken_where_the_line_is() -> None:
    """Nothing is filled over days without a bucket."""
    history = far_off()
    (stay,) = history.stays
    kept = np.r_[0:100, 140:365]
    assert stay.temperature_band_c is not None
    gappy = replace(
        stay,
        time_s=stay.time_s[kept],
        temperature_c=stay.temperature_c[kept],
        temperature_band_c=Band(
            stay.temperature_band_c.low[kept], stay.temperature_band_c.high[kept]
        ),
        humidity_band_pct=None,
        spread_band_c=None,
    )
    figure = drawing(BY_NAME["temperature"], replace(history, stays=(gappy,)))
    (band,) = traces(figure, "shed, air, lowest to highest")
    assert sum(y is None for y in band.y) == 2
    (line,) = traces(figure, "shed, air")
    assert [i for i, y in enumerate(line.y) if y is None] == [100]


def test_a_year_reads_in_months() -> None:
    """Twelve months in no more words than fit, the year below the first and the new one."""
    figure = drawing(BY_NAME["temperature"], replace(far_off(), zone="Europe/Lisbon"))
    assert figure.layout.xaxis.ticktext[0] == "Jan<br>2025"
    assert 4 <= len(figure.layout.xaxis.ticktext) <= 9
    assert "put forward Sun 30 Mar, put back Sun 26 Oct" in figure.layout.xaxis.title.text


def test_all_charts_share_one_axis() -> None:
    """Same range, same words under it, same room left and right: one looks down through all."""
    history = sample_history()
    layouts = [drawing(chart, history).layout for chart in CHARTS]
    assert len({layout.xaxis.range for layout in layouts}) == 1
    assert len({layout.xaxis.ticktext for layout in layouts}) == 1
    assert len({(layout.margin.l, layout.margin.r) for layout in layouts}) == 1


@pytest.mark.parametrize("chart", CHARTS, ids=lambda chart: chart.name)
def test_a_real_layup_is_drawn(chart, filled: ShopAtHand) -> None:
    """From a real store: three batches in two parts, a silence, marks."""
    for number in (1, 3):
        standing = standing_of(filled.look(number, NOW), NOW, ZoneInfo("UTC"))
        assert standing is not None
        kept = kept_of(filled.store, filled.store.book.layup(number))
        history = picture(filled.store, kept, standing, (), zone=ZoneInfo("UTC"), unit="c")
        figure = drawing(chart, history)
        assert len(figure.data) >= 1
        assert figure.to_json()
    if chart.name != "windows":
        assert hatched(figure)[-1] == ("2026-05-02T21:10:00", "2026-05-03T04:40:00")


def test_the_wire_is_small(filled: ShopAtHand) -> None:
    """Two decimals a number, seconds a time: nothing the eye can't see."""
    figure = drawing(BY_NAME["temperature"], sample_history())
    (line,) = traces(figure, "shed, air")
    assert all(y is None or len(repr(y)) <= 6 for y in line.y)
    assert {len(x) for x in line.x} == {len("2026-05-02T11:20:00")}


@pytest.mark.parametrize("name", FIGURES)
def test_a_chart_shows_itself(name: str, tmp_path: Path) -> None:
    """`python -m dashboards.figures.NAME page.html` writes a page with the chart in it."""
    page = tmp_path / "page.html"
    command = [sys.executable, "-W", "error", "-m", f"dashboards.figures.{name}", str(page)]
    subprocess.run(command, check=True, cwd=ROOT)
    text = page.read_text("utf-8")
    assert "Invented figures." in text
    assert "Plotly.newPlot" in text
