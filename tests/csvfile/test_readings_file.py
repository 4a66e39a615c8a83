"""Our readings file, in and out."""

from io import StringIO
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from monitor.csvfile import read_readings, write_readings
from monitor.errors import BadInput
from monitor.records import Doubt, Flags, Readings
from tests.scenarios import at, series


def written(readings: Readings, path: Path) -> Path:
    with path.open("w", encoding="utf-8") as out:
        assert write_readings(readings, out) == len(readings)
    return path


def file(path: Path, text: str) -> Path:
    path.write_text(text, encoding="utf-8")
    return path


def test_what_is_written_is_read_again(tmp_path: Path) -> None:
    """Times, values, blanks and flags to the last digit."""
    readings = series("A5read")
    readings.humidity_pct[3] = np.nan
    readings.flags[5] = Flags(temperature=Doubt.SUNNED | Doubt.SPIKE).packed()
    readings.time_s[7] += 0.25
    again = read_readings(written(readings, tmp_path / "a.csv"), None)
    for name in ("time_s", "temperature_c", "humidity_pct", "surface_c", "flags"):
        before, after = getattr(readings, name), getattr(again.readings, name)
        np.testing.assert_allclose(after, before, rtol=1e-14)
    assert (again.rows, again.flagged, again.repeated) == (len(readings), 1, 0)


def test_fahrenheit_is_converted(tmp_path: Path) -> None:
    """68 °F is 20 °C (NIST SP 811, B.8)."""
    text = "time,temperature_f,humidity_pct\n2026-05-02T10:00:00Z,68.0,54\n"
    readings = read_readings(file(tmp_path / "f.csv", text), None).readings
    assert readings.temperature_c[0] == pytest.approx(20.0)


def test_offsets_that_change_on_the_way(tmp_path: Path) -> None:
    """A clock change neither makes nor loses an hour."""
    text = (
        "time,temperature_c\n2026-10-25T02:30:00+02:00,10\n"
        "2026-10-25T02:30:00+01:00,11\n2026-10-25T03:00:00+01:00,12\n"
    )
    readings = read_readings(file(tmp_path / "c.csv", text), None).readings
    assert np.diff(readings.time_s).tolist() == [3600.0, 1800.0]


def test_times_without_an_offset(tmp_path: Path) -> None:
    """The zone decides; without one they are refused, as is an hour that happens twice."""
    path = file(tmp_path / "n.csv", "time,temperature_c\n2026-05-02 10:00,20\n")
    lisbon = ZoneInfo("Europe/Lisbon")
    assert read_readings(path, lisbon).readings.time_s[0] == at("2026-05-02T09:00Z").timestamp()
    with pytest.raises(BadInput, match="no offset"):
        read_readings(path, None)
    twice = file(tmp_path / "t.csv", "time,temperature_c\n2026-10-25 01:30,20\n")
    with pytest.raises(BadInput):
        read_readings(twice, lisbon)


def test_rows_out_of_order_and_repeated(tmp_path: Path) -> None:
    """Put in order; of two at one time the first stands; both are said."""
    text = (
        "time,temperature_c\n2026-05-02T10:02:00Z,22\n2026-05-02T10:00:00Z,20\n"
        "2026-05-02T10:02:00Z,99\n"
    )
    read = read_readings(file(tmp_path / "o.csv", text), None)
    assert read.readings.temperature_c.tolist() == [20.0, 22.0]
    assert (read.out_of_order, read.repeated, read.rows) == (True, 1, 3)


def test_values_that_can_not_be(tmp_path: Path) -> None:
    """Kept, and flagged for what can be seen of each by itself."""
    text = (
        "time,temperature_c,humidity_pct\n2026-05-02T10:00:00Z,-127,50\n"
        "2026-05-02T10:01:00Z,20,104\n2026-05-02T10:02:00Z,20,50\n"
    )
    read = read_readings(file(tmp_path / "v.csv", text), None)
    flags = [Flags.unpacked(int(bits)).text() for bits in read.readings.flags]
    assert flags == [
        "temperature:fault-code temperature:out-of-range",
        "humidity:out-of-range",
        "",
    ]
    assert read.readings.temperature_c[0] == -127.0


def test_a_surface_column_is_only_written_where_there_is_one() -> None:
    """The header says what is there."""
    out = StringIO()
    write_readings(series("A14"), out)
    assert out.getvalue().splitlines()[0] == "time,temperature_c,humidity_pct,flags"


def test_an_unknown_flag(tmp_path: Path) -> None:
    """A flag we don't know is refused, not dropped."""
    text = "time,temperature_c,flags\n2026-05-02T10:00:00Z,20,temperature:haunted\n"
    with pytest.raises(BadInput, match="haunted"):
        read_readings(file(tmp_path / "x.csv", text), None)


def test_a_line_of_too_many_fields(tmp_path: Path) -> None:
    """What the reader says of it is one line with the rest."""
    path = file(tmp_path / "a.csv", "time,temperature_c\n2026-05-02T10:00:00Z,20\n1,2,3,4\n")
    with pytest.raises(BadInput, match="not a readings file") as refused:
        read_readings(path, None)
    assert all("\n" not in line for line in refused.value.lines())
