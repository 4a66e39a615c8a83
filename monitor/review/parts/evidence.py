"""Facts of the record as evidence: a figure, where it comes from, and when."""

from collections.abc import Iterable
from dataclasses import replace

from monitor.records import Mark, Stage
from monitor.review.parts.facts import BatchFacts, Extreme, Facts, Weather
from monitor.review.parts.finding import Evidence
from monitor.times import length_said
from monitor.units import Unit, difference_said, f_degrees_from_c_degrees, temperature_said

MIX_IS_RIGHT = ("right", "at-the-limit")


def range_said(range_c: tuple[float, float], unit: Unit) -> str:
    """`15.0 °C to 30.0 °C`. Valid for any range in °C. Source: the sheet."""
    low, high = (temperature_said(edge_c, unit) for edge_c in range_c)
    return low if low == high else f"{low} to {high}"


def inside(weather: Weather, range_c: tuple[float, float] | None) -> bool | None:
    """Whether a span stayed in a range (°C). None: no range, or nothing measured.

    Valid for any span. Source: the sheet's range.
    """
    if range_c is None or weather.coldest is None or weather.warmest is None:
        return None
    return range_c[0] <= weather.coldest.value and weather.warmest.value <= range_c[1]


def warmth_was_right(batch: BatchFacts, unit: Unit) -> Evidence | None:
    """In the sheet's working range (°C) while green. None: it wasn't, or nobody can say.

    Valid for any batch. Source: the sensor and the sheet.
    """
    green, range_c = batch.green, batch.sheet.working_c
    if range_c is None or green.coldest is None or green.warmest is None:
        return None
    if not inside(green, range_c):
        return None
    span = range_said((green.coldest.value, green.warmest.value), unit)
    return Evidence(
        f"{span}, inside the sheet's {range_said(range_c, unit)}",
        "sensor",
        green.span.start,
        green.span.end,
        rules_out=True,
    )


def warmth_was_wrong(batch: BatchFacts, unit: Unit) -> Evidence | None:
    """Colder or warmer than the sheet's working range (°C) while green.

    Valid for any batch. Source: the sensor and the sheet.
    """
    green, range_c = batch.green, batch.sheet.working_c
    if range_c is None or green.coldest is None or green.warmest is None:
        return None
    if green.coldest.value < range_c[0]:
        return extreme_said(green.coldest, f"below the sheet's {range_said(range_c, unit)}", unit)
    if green.warmest.value > range_c[1]:
        return extreme_said(green.warmest, f"above the sheet's {range_said(range_c, unit)}", unit)
    return None


def extreme_said(extreme: Extreme, words: str, unit: Unit) -> Evidence:
    """`5.0 °C, below the sheet's …`. Valid for temperatures in °C. Source: the sensor."""
    return Evidence(f"{temperature_said(extreme.value, unit)}, {words}", "sensor", extreme.at)


def mix_was_right(batch: BatchFacts) -> Evidence | None:
    """The amounts as the sheet asks. Valid for any batch. Source: the book and the sheet."""
    return replace(_mix(batch), rules_out=True) if batch.mix.state in MIX_IS_RIGHT else None


def mix_was_wrong(batch: BatchFacts) -> Evidence | None:
    """The amounts outside the sheet. Valid for any batch. Source: the book and the sheet."""
    return _mix(batch) if batch.mix.state == "outside" else None


def _mix(batch: BatchFacts) -> Evidence:
    words = batch.mix.sentence.rstrip(".")
    return Evidence(f"{batch.address}: {words[0].lower()}{words[1:]}", "book", batch.mixed_at)


def below_floor(batch: BatchFacts, unit: Unit, least_h: float) -> Evidence | None:
    """Parked below the sheet's floor for at least `least_h` hours before the sand stage.

    Valid for any batch. Source: the sensor and the sheet.
    """
    spans = batch.assessment.parked
    if not spans or batch.sheet.floor_c is None:
        return None
    ends = [span.end or batch.assessment.now for span in spans]
    hours = sum((e - s.start).total_seconds() for s, e in zip(spans, ends, strict=True)) / 3600.0
    if hours < least_h:
        return None
    return Evidence(
        f"{length_said(hours * 3600)} below the floor of "
        f"{temperature_said(batch.sheet.floor_c, unit)}",
        "sensor",
        spans[0].start,
        ends[-1],
    )


def count_said(batch: BatchFacts, stage: Stage, unit: Unit) -> str | None:
    """`count 43 (32 to 54) of 240 for sand`. None: no count, or the sheet doesn't say.

    Valid for any batch. Source: the count.
    """
    needs, count = batch.needs(stage), batch.assessment.count
    if needs is None:
        return None
    low, need = (_counted(v, batch, unit) for v in (count.low, needs))
    words = stage.value.replace("_", " ")
    if count.middle is None or count.high is None:
        return f"count at least {low:.0f} of {need:.0f} for {words}"
    middle, high = (_counted(v, batch, unit) for v in (count.middle, count.high))
    return f"count {middle:.0f} ({low:.0f} to {high:.0f}) of {need:.0f} for {words}"


def _counted(value: float, batch: BatchFacts, unit: Unit) -> float:
    linear = batch.sheet.count_unit == "dh"
    return f_degrees_from_c_degrees(value) if linear and unit == "f" else value


def reached(batch: BatchFacts, stage: Stage) -> bool | None:
    """Whether the careful edge of the count is past a stage. None: the sheet doesn't say.

    Valid for any batch. Source: the count.
    """
    needs = batch.needs(stage)
    return None if needs is None else batch.assessment.count.low >= needs


def count_is_past(batch: BatchFacts, stage: Stage, unit: Unit) -> Evidence | None:
    """The count past a stage, with when it got there. Valid for any batch. Source: the count."""
    words = count_said(batch, stage, unit)
    if words is None or not reached(batch, stage):
        return None
    return Evidence(words, "sensor", batch.assessment.stage(stage).opens.late or None)


def count_is_short(batch: BatchFacts, stage: Stage, unit: Unit) -> Evidence | None:
    """The count short of a stage, now. Valid for any batch. Source: the count."""
    words = count_said(batch, stage, unit)
    if words is None or reached(batch, stage):
        return None
    return Evidence(words, "sensor", batch.assessment.now)


def damp_spell(weather: Weather, limit_c: float | None, unit: Unit) -> Evidence | None:
    """The first spell nearer the dew point than the sheet allows (°C), and how near it came.

    Valid for any span. Source: the sensor and the sheet.
    """
    if not weather.damp or weather.closest is None or limit_c is None:
        return None
    near = difference_said(weather.closest.value, unit)
    return Evidence(
        f"{near} from the dew point at the worst, the sheet asks {difference_said(limit_c, unit)}",
        "sensor",
        weather.damp[0].start,
        weather.damp[-1].end,
    )


def wet_spell(weather: Weather, unit: Unit) -> Evidence | None:
    """Nearer than 1 °C to the dew point for a while. Valid for any span. Source: the sensor."""
    if not weather.wet:
        return None
    hours = sum(span.hours for span in weather.wet)
    return Evidence(
        f"nearer than {difference_said(1.0, unit)} for {length_said(hours * 3600)}",
        "sensor",
        weather.wet[0].start,
        weather.wet[-1].end,
    )


def mark_said(mark: Mark) -> Evidence:
    """A mark in its own word, with its note. Valid for any mark. Source: the book."""
    note = f" ({mark.note})" if mark.note else ""
    return Evidence(f"marked {mark.kind.value}{note}", "book", mark.at)


def notes_with(facts: Facts, words: Iterable[str]) -> Evidence | None:
    """The first note of the layup that has one of the words. Valid for lower case. Source: the
    book."""
    wanted = tuple(words)
    for batch in facts.batches:
        for mark in batch.marks:
            if mark.note and any(word in mark.note.lower() for word in wanted):
                return Evidence(f"noted: {mark.note}", "book", mark.at)
    return None
