"""Boards' own chatter: labels in any language, and names that somebody wrote down."""

from datetime import UTC, datetime

import pytest

from monitor.sensing.formats import key_value
from monitor.sensing.labels import meaning
from monitor.sensing.line_reader import LineReader
from monitor.sensing.measured import Measured
from monitor.wires import Columns

AT = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)

LANGUAGES = [
    "Temperatur: 21,4 °C  Luftfeuchtigkeit: 56,0 %",
    "Température = 21,4 °C ; Humidité = 56,0 %",
    "Temperatura: 21.4 C, Humedad relativa: 56.0 %",
    "temperatura=21.4 umidità=56.0",
    "Temperatuur: 21,4 Luchtvochtigheid: 56,0",
    "Lämpötila: 21,4 C Kosteus: 56,0 %",
    "Temperatura: 21,4°C Wilgotność: 56,0%",
    "Teplota: 21,4 Vlhkost: 56,0",
    "Lufttemperatur: 21,4 Luftfugtighed: 56,0",
    "Температура: 21.4 Влажность: 56.0",
    "Θερμοκρασία: 21,4 Υγρασία: 56,0",
    "温度: 21.4 湿度: 56.0",
    "온도=21.4 습도=56.0",
    "SICAKLIK: 21,4  RH: 56,0",
]


@pytest.mark.parametrize("line", LANGUAGES)
def test_labels_in_many_languages(line: str) -> None:
    """With accents, capitals and decimal commas as they come."""
    measured = key_value.parse(line)
    assert measured is not None
    assert (measured.temperature, measured.humidity_pct) == (21.4, 56.0)


@pytest.mark.parametrize("label", ["HR", "RF", "UR", "Batterie", "Taupunkt", "Druck", "rosée"])
def test_labels_that_mean_other_things_are_left_alone(label: str) -> None:
    """`HR` is an hour on one board and a humidity on another: shop.toml may name it."""
    assert meaning(label) is None


MAPPED = [
    ('{"tC": 21.4, "hh": 56, "v": 3.3}', Columns("x", "tC", "hh"), "air 21.4 °C, humidity 56.0 %"),
    (
        '{"id": 4, "env": {"t": 21.4, "h": 56.0}, "probes": {"a": 16.9}}',
        Columns("x", "env.t", "env.h", "probes.a"),
        "air 21.4 °C, humidity 56.0 %, surface 16.9 °C",
    ),
    ("56.0,21.4", Columns("x", "2", "1"), "air 21.4 °C, humidity 56.0 %"),
    ("node4;x;214;560", Columns("x", "3", "4", times=0.1, humidity_times=0.1),
     "air 21.4 °C, humidity 56.0 %"),
    ("17 3.29 21,4 56,0 1013", Columns("x", "3", "4"), "air 21.4 °C, humidity 56.0 %"),
    ("2026-05-02 09:00:00, 5, 21.4", Columns("x", "2"), "air 21.4 °C"),
    ("AUSSEN=21,4 INNEN=24,0 HR=56", Columns("x", "aussen", "hr"), "air 21.4 °C, humidity 56.0 %"),
    ("A: 70.5 F  B: 56 %  C: 62.4 F", Columns("x", "a", "b", "c"),
     "air 21.4 °C, humidity 56.0 %, surface 16.9 °C"),
    ('{"d": {"temp": 70.5, "unit": "F"}, "h": 56}', Columns("x", "d.temp", "h"),
     "air 21.4 °C, humidity 56.0 %"),
]  # fmt: skip


@pytest.mark.parametrize(("line", "columns", "said"), MAPPED)
def test_names_that_somebody_wrote_down(line: str, columns: Columns, said: str) -> None:
    """Any label, key or place, with a lost decimal point put back; other values are passed over."""
    reader = LineReader(columns=columns)
    heard = [each for _ in range(3) for each in reader.read(line, AT)]
    assert [each.said() for each in heard] == [said] * 3


def test_the_first_line_in_mid_stream_is_still_left_out() -> None:
    """A cut line may hold the named columns, of another value."""
    reader = LineReader(columns=Columns("x", "2", "1"), format="delimited")
    (heard,) = reader.restarted("6.0,21.4", AT)
    assert heard.said() == "refused: may-be-cut"


def test_a_line_without_the_named_values_is_none() -> None:
    """The names hold alone: a `temp` that nobody named isn't taken instead."""
    reader = LineReader(columns=Columns("x", "boat"), format="json-line")
    (heard,) = reader.read('{"temp": 21.4}', AT)
    assert heard.said() == "passed over: other-values"
    (heard,) = reader.read('{"status": "ok"}', AT)
    assert heard.said() == "refused: not-understood"


def test_labels_of_other_numerals_are_no_values() -> None:
    """A value is written in ASCII digits; the rest of the line may be anything."""
    assert key_value.parse("T=٢١ H=٥٦") is None
    assert key_value.parse("気圧: 1013 気温: 21.4") == Measured(21.4)
