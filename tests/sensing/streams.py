"""What boards, probes' gateways and boats' networks send: streams of our own making, as captured,
each with the readings that are in it."""

from dataclasses import dataclass

from monitor.units import Unit
from monitor.wires import Columns

NAN = float("nan")
Values = tuple[float | None, float | None, float | None]


@dataclass(frozen=True)
class Stream:
    name: str
    data: bytes
    readings: tuple[Values, ...]
    unit: Unit | None = None
    columns: Columns | None = None
    proves_itself: bool = False
    """Whether no part of a line can pass for a whole one."""


def text(name: str, lines: str, *readings: tuple[float | None, ...], **more) -> Stream:
    """Lines as written, ended by CR LF."""
    whole = [(*values, None, None)[:3] for values in readings]
    data = "".join(line + "\r\n" for line in lines.splitlines()).encode()
    return Stream(name, data, tuple(whole), **more)


def raw(name: str, data: bytes, *readings: tuple[float | None, ...], **more) -> Stream:
    whole = [(*values, None, None)[:3] for values in readings]
    return Stream(name, data, tuple(whole), **more)


A, B = (21.4, 56.0), (21.5, 55.8)
P, Q = (21.4, 56.0, 16.9), (21.5, 55.8, 17.0)
XA = "$WIXDR,C,21.4,C,AIR,H,56.0,P,AIR*4C"
XB = "$WIXDR,C,21.5,C,AIR,H,55.8,P,AIR*46"
XP = "$WIXDR,C,21.4,C,AIR,H,56.0,P,AIR,C,16.9,C,PART*4B"
BOAT = """$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47
!AIVDM,1,1,,A,14eG;o@034o8sd<L9i:a;WF>062D,0*7D
$INMTW,17.9,C*1B"""
MDA = "$WIMDA,29.7544,I,1.0076,B,21.4,C,12.1,C,56.0,,12.3,C,208.1,T,212.2,M,2.6,N,1.3,M*35"
SURE = {"proves_itself": True}

STREAMS = (
    # Bare numbers
    text("comma", "21.4,56.0\n21.5,55.8", A, B),
    text("comma and blank", "21.4, 56.0\n21.5, 55.8", A, B),
    text("comma at the end", "21.4,56.0,\n21.5,55.8,", A, B),
    text("semicolon", "21.4;56.0\n21.5;55.8", A, B),
    text("tab", "21.4\t56.0\n21.5\t55.8", A, B),
    text("blank", "21.4 56.0\n21.5 55.8", A, B),
    text("padded", "   21.4     56.0\n   21.5     55.8", A, B),
    text("decimal comma, semicolon", "21,4;56,0\n21,5;55,8", A, B),
    text("decimal comma, tab", "21,4\t56,0\n21,5\t55,8", A, B),
    text("decimal comma, blank", "21,4 56,0\n21,5 55,8", A, B),
    text("with units", "21.4 °C, 56.0 %\n21.5 °C, 55.8 %", A, B),
    text("in Fahrenheit", "70.52F 56.0%\n70.70F 55.8%", A, B),
    text("told to be Fahrenheit", "68.0 54\n50.0 60", (20.0, 54.0), (10.0, 60.0), unit="f"),
    text("three columns", "21.4,56.0,16.9\n21.5,55.8,17.0", P, Q),
    text("three columns, the middle one empty", "21.4,,16.9\n21.5,,17.0", (21.4, None, 16.9),
         (21.5, None, 17.0)),
    text("frost", "-9.7,80.1\n-0.1,80.0", (-9.7, 80.1), (-0.1, 80.0)),
    text("the board's own time in front", "2026-05-02 14:05:00,21.4,56.0\n"
         "2026-05-02 14:05:10,21.5,55.8", A, B),
    text("the board's clock never set", "2000-01-01 00:00:07,21.4,56.0\n"
         "2000-01-01 00:00:17,21.5,55.8", A, B),
    text("nan now and then", "21.4,56.0\nnan,nan\n21.5,55.8", A, (NAN, NAN), B),
    text("fault codes", "21.4,56.0\n-127.00,56.0\n85.00,55.8", A, (-127.0, 56.0), (85.0, 55.8)),
    text("whole numbers", "21,56\n22,55", (21.0, 56.0), (22.0, 55.0)),
    raw("LF alone", b"21.4,56.0\n21.5,55.8\n", A, B),
    raw("CR alone", b"21.4,56.0\r21.5,55.8\r", A, B),
    raw("blank lines between", b"\r\n21.4,56.0\r\n\r\n\r\n21.5,55.8\r\n\r\n", A, B),
    # Boards that chatter
    text("start-up text", "boot v2.1 (c)\nsensor found at 0x44\n21.4,56.0\n21.5,55.8", A, B),
    text("a header", "temp,hum\n21.4,56.0\n21.5,55.8", A, B),
    text("an own log between", "21.4,56.0\n21.5,55.8\nbattery low\n21.5,55.8", A, B, B),
    text("started anew in the middle", "21.4,56.0\n21.5,55.8\nets Jun  8 2016 00:22:57\n"
         "rst:0x1 (POWERON),boot:0x13\nload:0x3fff0018,len:4\n21.4,56.0", A, B, A),
    raw("a burst at another rate first", b"\xf8\x00\x1e\xe6\x80\r\n\xfe\xf8\x00\n21.4,56.0\r\n"
        b"21.5,55.8\r\n", A, B),
    raw("an odd byte in a line", b"21.4,56.0\r\n21.\x804,56.0\r\n21.5,55.8\r\n", A, B),
    raw("the degree sign in one byte", b"T=21.4\xb0C H=56.0%\r\nT=21.5\xb0C H=55.8%\r\n", A, B),
    raw("a line without end", b"U" * 300 + b"\n21.4,56.0\r\n21.5,55.8\r\n", A, B),
    raw("zeros between lines", b"21.4,56.0\r\n\x00\x00\r\n21.5,55.8\r\n", A, B),
    raw("a last line cut", b"21.4,56.0\r\n21.5,55.8\r\n21.6,5", A, B),
    # Labels
    text("T and H", "T=21.4 H=56.0\nT=21.5 H=55.8", A, B),
    text("H and T", "H=56.0 T=21.4\nH=55.8 T=21.5", A, B),
    text("words", "Temperature: 21.40 C, Humidity: 56.0 %\nTemperature: 21.50 C, Humidity: 55.8 %",
         A, B),
    text("words and more", "Temp=21.4;RH=56.0;DewPoint=12.2;Batt=3.29\n"
         "Temp=21.5;RH=55.8;DewPoint=12.3;Batt=3.28", A, B),
    text("both units", "Humidity: 56.0%  Temperature: 21.4°C 70.5°F\n"
         "Humidity: 55.8%  Temperature: 21.5°C 70.7°F", A, B),
    text("labelled Fahrenheit", "temp_f=68.0 rh=54\ntemp_f=50.0 rh=60", (20.0, 54.0), (10.0, 60.0)),
    text("a probe on the part", "T=21.4 H=56.0 part=16.9\nT=21.5 H=55.8 part=17.0", P, Q),
    text("a node's number", "node3 T=21.4 H=56.0\nnode3 T=21.5 H=55.8", A, B),
    text("a log line's front", "[1234] I env: T=21.4 H=56.0\n[1244] I env: T=21.5 H=55.8", A, B),
    text("German", "Temperatur: 21,4 °C  Luftfeuchte: 56,0 %\n"
         "Temperatur: 21,5 °C  Luftfeuchte: 55,8 %", A, B),
    text("French", "Température = 21,4 °C ; Humidité = 56,0 %\n"
         "Température = 21,5 °C ; Humidité = 55,8 %", A, B),
    text("Spanish", "Temperatura: 21.4 C, Humedad: 56.0 %\nTemperatura: 21.5 C, Humedad: 55.8 %",
         A, B),
    text("Russian", "Температура: 21.4 Влажность: 56.0\nТемпература: 21.5 Влажность: 55.8", A, B),
    text("Japanese", "温度: 21.4 湿度: 56.0\n温度: 21.5 湿度: 55.8", A, B),
    text("failed words", "T=21.4 H=56.0\nT=error H=error\nT=21.5 H=55.8", A, (NAN, NAN), B),
    # JSON
    text("JSON", '{"temperature": 21.4, "humidity": 56.0}\n{"temperature": 21.5, "humidity": 55.8}',
         A, B, **SURE),
    text("JSON, short keys", '{"t":21.4,"n":1,"h":56.0}\n{"t":21.5,"n":2,"h":55.8}', A, B, **SURE),
    text("JSON, numbers in quotes", '{"temp":"21.4","hum":"56.0"}\n{"temp":"21.5","hum":"55.8"}',
         A, B, **SURE),
    text("JSON in Fahrenheit", '{"temp":68.0,"hum":54,"unit":"F"}\n{"temp":50,"hum":60,"unit":"F"}',
         (20.0, 54.0), (10.0, 60.0), **SURE),
    text("JSON, no value", '{"t":null,"h":56.0}\n{"t":nan,"h":55.8}', (None, 56.0), (NAN, 55.8),
         **SURE),
    text("JSON with a probe", '{"t":21.4,"h":56.0,"part":16.9}\n{"t":21.5,"h":55.8,"part":17.0}',
         P, Q, **SURE),
    text("JSON and status", '{"status":"up"}\n{"t":21.4,"h":56.0}\n{"status":"ok"}\n'
         '{"t":21.5,"h":55.8}', A, B, **SURE),
    text("JSON, own keys", '{"a":{"x":21.4,"y":56.0},"v":3.3}\n{"a":{"x":21.5,"y":55.8},"v":3.3}',
         A, B, columns=Columns("x", "a.x", "a.y"), **SURE),
    # Sentences
    text("XDR", f"{XA}\n{XB}", A, B, **SURE),
    text("XDR with a probe", f"{XP}\n{XA}", P, A, **SURE),
    text("XDR spoilt once", f"{XA}\n{XB.replace('21.5', '27.5')}\n{XB}", A, B, **SURE),
    text("XDR among a boat's others", f"{BOAT}\n{XA}\n{BOAT}\n{XB}", A, B, **SURE),
    text("MDA among a boat's others", f"{BOAT}\n{MDA}\n{BOAT}\n{MDA}", A, A, **SURE),
    text("the water for a hull", f"{BOAT}\n{MDA}", (None, None, 17.9), (None, None, 12.1),
         columns=Columns("hull", surface="water"), **SURE),
    text("XDR after start-up text", f"starting\nready\n{XA}\n{XB}", A, B, **SURE),
    raw("XDR run together", f"{XA}\r\n{XB}{XA}\r\n{XB}\r\n".encode(), A, B, **SURE),
    # Told by name
    text("humidity first", "56.0,21.4\n55.8,21.5", A, B, columns=Columns("x", "2", "1")),
    text("tenths", "214;560\n215;558", A, B,
         columns=Columns("x", "1", "2", times=0.1, humidity_times=0.1)),
    text("among many columns", "7;3.29;21.4;1013;56.0\n7;3.28;21.5;1013;55.8", A, B,
         columns=Columns("x", "3", "5")),
    text("own labels", "aussen=21,4 innen=24,0 HR=56,0\naussen=21,5 innen=24,1 HR=55,8", A, B,
         columns=Columns("x", "aussen", "HR")),
)  # fmt: skip
