"""A boat's own network: many instruments on one wire, a few of them about the air."""

from datetime import UTC, datetime

import pynmea2
import pytest

from monitor.sensing.line_reader import LineReader
from monitor.sensing.sentences import Sentence, sentence
from monitor.wires import Columns

AT = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)

# GGA, the XDR of a compass and AIVDM are examples that many public papers on NMEA 0183 print; the
# others were made for this test by the standard's table of fields. pynmea2 checks all of them.
OTHERS = (
    "$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47",
    "$HCXDR,A,171,D,PITCH,A,-37,D,ROLL,G,367,,MAGX,G,2420,,MAGY,G,-8984,,MAGZ*41",
    "$SDDBT,7.8,f,2.4,M,1.3,F*0D",
    "!AIVDM,1,1,,A,14eG;o@034o8sd<L9i:a;WF>062D,0*7D",
)
MTW = "$INMTW,17.9,C*1B"
MDA = "$WIMDA,29.7544,I,1.0076,B,21.4,C,12.1,C,56.0,,12.3,C,208.1,T,212.2,M,2.6,N,1.3,M*35"
TWO = "$YXXDR,C,23.5,C,ENGINE#0,C,18.4,C,ENV_OUT,H,65.2,P,ENV_OUT,C,22.0,C,ENV_IN,H,41,P,ENV_IN*5F"


def read(line: str, **more) -> str:
    (heard,) = LineReader(format="xdr", **more).read(line, AT)
    return heard.said()


@pytest.mark.parametrize("line", [*OTHERS, MTW, MDA, TWO])
def test_the_lines_here_are_sentences_to_an_independent_reader_too(line: str) -> None:
    """pynmea2 accepts their checksums; it knows no `!` sentences, whose checksum it still has."""
    assert pynmea2.NMEASentence.checksum(line[1:-3]) == int(line[-2:], 16)
    found = sentence(line)
    assert found is not None
    if line.startswith("$"):
        parsed = pynmea2.parse(line, check=True)
        assert (parsed.sentence_type, tuple(parsed.data)) == found


def test_mda_and_mtw_mean_what_pynmea2_says() -> None:
    """Its field names are an independent reading of the standard's table."""
    mda, mtw = pynmea2.parse(MDA), pynmea2.parse(MTW)
    assert (float(mda.air_temp), float(mda.rel_humidity)) == (21.4, 56.0)
    assert float(mda.water_temp) == 12.1
    assert (float(mtw.temperature), mtw.units) == (17.9, "C")


@pytest.mark.parametrize("line", [*OTHERS, MTW])
def test_another_instruments_sentence_is_passed_over_in_silence(line: str) -> None:
    """It is whole, so it is no reject; it is shown to whoever listens."""
    reader = LineReader(format="xdr")
    (heard,) = reader.read(line, AT)
    assert heard.reading is None
    assert heard.harmless
    assert heard.said().startswith("passed over: ")
    assert not reader.rejects


@pytest.mark.parametrize("line", [*OTHERS, MTW, MDA, TWO])
def test_a_damaged_one_is_counted_whatever_it_is(line: str) -> None:
    """One digit off anywhere, or cut, and it is nobody's."""
    for at in range(7, len(line) - 3):
        spoilt = line[:at] + ("8" if line[at] != "8" else "9") + line[at + 1 :]
        assert read(spoilt) in {"refused: checksum", "refused: damaged"}
    for at in range(8, len(line)):
        assert read(line[:at]) in {"refused: checksum", "refused: damaged"}


def test_mda_is_the_air() -> None:
    """The water beside it is not."""
    assert read(MDA) == "air 21.4 °C, humidity 56.0 %"
    assert read("$WIMDA,,I,,B,,C,,C,,,,C,,T,,M,,N,,M*04") == "passed over: other-sentence"
    assert read("$WIMDA,29.9,I*03") == "passed over: other-sentence"


def test_the_water_is_a_surface_where_somebody_says_so() -> None:
    """For a bond to a hull afloat."""
    columns = Columns("hull", surface="water")
    assert read(MTW, columns=columns) == "surface 17.9 °C"
    assert read(MDA, columns=columns) == "surface 12.1 °C"
    assert read(TWO, columns=columns) == "passed over: other-values"


def test_a_transducer_is_chosen_by_name() -> None:
    """A network with several: unnamed, the first one is the air, and it may be the engine."""
    outside = Columns("deck", temperature="env_out", humidity="env_out", surface="env_in")
    assert read(TWO, columns=outside) == "air 18.4 °C, humidity 65.2 %, surface 22.0 °C"
    assert read(TWO) == "air 23.5 °C, humidity 65.2 %"


def test_a_tag_block_of_version_4_is_passed_over() -> None:
    """What stands between backslashes belongs to the network."""
    assert sentence("\\s:wx1,c:1714641234*00\\" + MTW) == Sentence("MTW", ("17.9", "C"))


def test_one_reading_among_many_other_sentences_is_found_each_time() -> None:
    """The format isn't given up for all that comes between."""
    reader = LineReader()
    heard = [
        each for _ in range(3) for line in [*OTHERS * 8, MDA] for each in reader.read(line, AT)
    ]
    assert [each.reading.temperature_c for each in heard if each.reading] == [21.4] * 3
    assert len(heard) == 99
    assert not reader.rejects
    assert reader.format_name == "xdr"
