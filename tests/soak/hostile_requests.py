"""Requests that no page of ours sends; all from one seed."""

import random
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from html.parser import HTMLParser
from json import dumps
from urllib.parse import parse_qsl, quote, quote_from_bytes, urlencode, urlsplit

import orjson

from monitor.records import MarkKind, Role
from tests.soak.hostile import spoilt
from tests.soak.lan import THERE, Lan

FORM = "application/x-www-form-urlencoded"
POISON = (
    *("", " ", "x" * 600, "x" * 20_000, "ü" * 9_000, "\x00", "a\x00b", "\x1b[2J", "\r\nX: 1"),
    "\n" * 99,
    *("-1", "-0", "0", "1e999", "-1e308", "1e-320", "nan", "-inf", "9" * 30, "9" * 400, "1,5"),
    "0x10",
    *("1.5.2", "१२", "１２", "²", "½", "1_000", "+5", "9223372036854775807", "9223372036854775808"),
    *("2147483648", "999999", "-9223372036854775809", "true", "null", "[]", "{}", '{"a":1}', "on"),
    *("0001-01-01T00:00:00-23:59", "9999-12-31T23:59:59+23:59", "9999-12-31T23:59:59.999999-23:59"),
    *("2026-02-30", "25:61", "24:00", "-99999999999h", "-1e9m", "-5m", "-0s"),
    *("99999999999999h", "999d", "12:00:99", "now"),
    *("1970-01-01T00:00:00Z", "2026-05-02T10:20:00Z", "2026-05-02 10:20", "-P1D", "1e20", "-1e20m"),
    *("' OR 1=1;--", '"; DROP TABLE layups;', "{{7*7}}", "${7*7}", "%s%n%x", "{0.__class__}", "%"),
    *("../../etc/passwd", "..\\..\\x", "/etc/passwd", "~root", "CON", ".", "..", "a/b", "a#b?c"),
    *("<script>alert(1)</script>", "'\"><img src=x>", "&lt;", "=cmd|'/c'!A1", "@SUM(1)"),
    "\u202egnp.3",
    *("👩‍👩‍👧‍👦" * 40, "e\u0301" * 300, "\u200b", "\ufeff3", "\ud7ff\ue000", "ﷺ" * 200, "İ", "ß"),
    *(mark.value for mark in MarkKind),
    *(role.value for role in Role),
    *("all", "3/patch", "1+3", "skin-b", "batch-1", "mark-1", "layup-1", "sensor-1", "stay-1"),
    "shed",
    *("demo-laminating", "demo-epoxy", "bow", "hull", "c", "f", "surface", "beside", "yes", "no"),
)
METHODS = (
    *("PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "CONNECT", "PROPFIND", "GETS", "get", "PRI"),
)
KNOWN = (
    *("of", "just", "next", "sheet", "heater", "pressed", "px", "only", "since", "until", "plain"),
)
FIGURES = tuple(word for word in POISON if word and not word.strip("+-.,eE0123456789"))
"""What may stand where a number belongs, and is one, or nearly."""

HIDDEN = f"GET /phones HTTP/1.1\r\nHost: {THERE}\r\n\r\n"
ENDS = "\r\n\r\n"
ODD_HEADS = (
    *(("HTTP/1.1", version) for version in ("HTTP/0.9", "HTTP/1.0", "HTTP/2.0", "HTTP/9", "", "X")),
    *(
        ("GET /", f"GET {front}")
        for front in ("http://evil.example/", "//", "\xff/", " /", "", "*")
    ),
    *(("GET", method) for method in ("G\x00T", "get", "POST", "GET\t", "M" * 9_000)),
    *(
        ("Host: ", name)
        for name in (" Host: ", "Host : ", "X: ", "Host: a\r\nHost: ", "Host:\r\nY: ")
    ),
    *((THERE, host) for host in (f"{THERE}:99999", "a b", "[::1", "\xff", "x" * 300, "127.0.0.1")),
    *(
        ("door=", cookie)
        for cookie in ("=;=;door=", "door=\x01;door=", "a" * 9_000 + ";", "\xff", "door=;")
    ),
    *(("Connection: close", more) for more in ("Connection: \x00", "Connection: x, , close", "")),
    *(
        (ENDS, f"\r\n{more}{ENDS}")
        for more in (" folded", "X: a\x00b", "X", ": x", "X: " + "y" * 70_000)
    ),
    *(
        (ENDS, f"\r\n{more}{ENDS}")
        for more in ("X: 1\r\n" * 2_000 + "X: 1", "X-Forwarded-For: 127.0.0.1")
    ),
    (ENDS, f"\r\nUpgrade: websocket\r\nConnection: Upgrade\r\nSec-WebSocket-Version: 13{ENDS}"),
    (ENDS, f"\r\nUpgrade: h2c\r\nHTTP2-Settings: AAMAAABk{ENDS}"),
    (ENDS, f"\r\nRange: bytes=0-,5-9,-1\r\nIf-None-Match: *{ENDS}"),
    (ENDS, "\n\n"),
    (ENDS, "\r\r"),
)
ODD_LENGTHS = (
    *(
        "{length}\r\nContent-Length: 3",
        "Content-Length: -1",
        "Content-Length: 1e3",
        "Content-Length: ",
    ),
    *("Content-Length: " + "9" * 30, "Content-Length: +5", "Content-Length: {more}", "X: 1"),
    *("Content-Length: {less}", "{length}, 7", "{length}\r\nTransfer-Encoding: chunked"),
    *("Transfer-Encoding: chunked\r\n{length}", "{length}\r\nTransfer-Encoding: xchunked"),
    *("{length}\r\nTransfer-Encoding : chunked", "{length}\r\nExpect: 100-continue"),
)
ODD_PIECES = (
    *(
        b"zz\r\n",
        b"-1\r\nx\r\n",
        b"f" * 20 + b"\r\n",
        b"5;x=" + b"y" * 9_000 + b"\r\n",
        b"5\r\nabc",
    ),
    *(b"1\r\na\r\n" * 5_000 + b"0\r\n\r\n", b"10000\r\n" + b"a" * 65_536 + b"\r\n9\r\n" + b"a" * 9),
)
OTHERS = (
    b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n" + bytes(50),
    b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03" + bytes(200),
    b"\r\n" * 500,
    b"GET /\r\n\r\n",
)


@dataclass(frozen=True)
class Made:
    """`whole` False: nothing may say where it ends, so it isn't waited for long."""

    kind: str
    who: str
    data: bytes
    whole: bool = True


@dataclass(frozen=True)
class Form:
    """`fields`: name and value; a choice stands there once for each value it may have."""

    action: str
    method: str
    fields: tuple[tuple[str, str], ...]


class _Page(HTMLParser):
    """The forms and links of one page."""

    def __init__(self) -> None:
        super().__init__()
        self.forms: list[Form] = []
        self.links: list[str] = []
        self._fields: list[tuple[str, str]] = []
        self._form: tuple[str, str] | None = None
        self._select = ""

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        told = {name: value or "" for name, value in attributes}
        if tag == "a" and told.get("href", "").startswith("/"):
            self.links.append(told["href"].partition("#")[0])
        if tag == "form":
            self._form, self._fields = (told.get("action", "/"), told.get("method", "get")), []
        elif self._form and tag == "select":
            self._select = told.get("name", "")
        elif self._form and tag == "option":
            self._fields.append((self._select, told.get("value", "")))
        elif self._form and tag in ("input", "textarea", "button") and "name" in told:
            self._fields.append((told["name"], told.get("value", "")))

    def handle_endtag(self, tag: str) -> None:
        if tag == "form" and self._form:
            action, method = self._form
            self.forms.append(Form(action, method.upper(), tuple(self._fields)))
            self._form = None


def looked_through(lan: Lan, pages: int = 60) -> tuple[list[Form], list[str]]:
    """Every form of the pages as they are now, and every address they lead to."""
    forms: dict[Form, None] = {}
    seen, waiting = dict.fromkeys(["/"]), ["/"]
    for number in range(pages):
        if not waiting:
            break
        path = waiting.pop(0)
        told = lan.page(path, own=f"127.251.{number}.1")
        page = _Page()
        page.feed(told.body.decode("utf-8", "replace"))
        forms |= dict.fromkeys(page.forms)
        new = [link for link in page.links if link not in seen and "/static/" not in link]
        seen |= dict.fromkeys(new)
        waiting += new
    return list(forms), list(seen)


def _cut(dice: random.Random, data: bytes) -> bytes:
    return data[: dice.randrange(len(data))]


class HostileRequests:
    """Makes them. `look_again` takes in how the pages are now."""

    def __init__(self, lan: Lan, seed: int, addresses: tuple[tuple[str, str], ...]) -> None:
        self._lan, self._dice, self._addresses = lan, random.Random(seed), addresses
        self.forms: list[Form] = []
        self.links: list[str] = []
        self.numbers: list[str] = []

    def look_again(self, forms: list[Form], links: list[str]) -> None:
        # A press that ends a leave would end the asking.
        self.forms = [form for form in forms if not form.action.endswith("/sign-out")]
        self.links = links
        numbers = {link.split("/")[2] for link in links if re.match(r"/layups/\d+$", link)}
        self.numbers = sorted(numbers) or ["1"]

    def __iter__(self) -> Iterator[Made]:
        makers, weights = zip(*_KINDS, strict=True)
        while True:
            yield self._dice.choices(makers, weights)[0](self)

    def own(self) -> str:
        """An address of this machine to ask from."""
        dice = self._dice
        return f"127.{dice.randrange(1, 250)}.{dice.randrange(256)}.{dice.randrange(2, 255)}"

    def who(self) -> str:
        return self._dice.choices(("writer", "looker", "nobody"), (6, 2, 1))[0]

    def tossed(self) -> bool:
        return self._dice.random() < 0.5

    def poison(self) -> str:
        return self._dice.choice(POISON)

    def head(self, method: str, path: str, who: str, *more: str) -> str:
        lines = (f"{method} {path} HTTP/1.1", f"Host: {THERE}", f"Cookie: {self._lan.cookies(who)}")
        return "\r\n".join((*lines, f"Origin: http://{THERE}", "Connection: close", *more, "", ""))

    def with_body(
        self, method: str, path: str, who: str, body: bytes, kind: str, *more: str
    ) -> bytes:
        told = (f"Content-Type: {kind}", f"Content-Length: {len(body)}", *more)
        return self.head(method, path, who, *told).encode("utf-8", "replace") + body

    def form(self) -> Made:
        """A form of a page as it was given, but for one field or a few."""
        dice, form, who = self._dice, self._dice.choice(self.forms), self.who()
        fields = self._chosen(form)
        for name in dice.sample(sorted(fields), min(len(fields), dice.choice((0, 1, 1, 2, 5)))):
            if name != "seal" or dice.random() < 0.05:
                fields[name] = self.poison()
        if dice.random() < 0.1:
            fields[self.poison()] = self.poison()
        pairs = list(fields.items())
        if dice.random() < 0.1:
            pairs += [dice.choice(pairs) for _ in range(dice.choice((1, 300)))] if pairs else []
        sent = urlencode(pairs, errors="replace")
        if form.method == "GET":
            return Made("form asked", who, self.head("GET", f"{form.action}?{sent}", who).encode())
        return Made("form", who, self.with_body("POST", form.action, who, sent.encode(), FORM))

    def json(self) -> Made:
        """The fields of a form, or of none, to an address for programs."""
        dice, who = self._dice, self.who()
        paths = [path for method, path in self._addresses if method == "POST"]
        names = [name for form in self.forms for name, _ in form.fields] + ["kind", "id", "value"]
        values = (
            self.poison(),
            dice.random() * 10 ** dice.randrange(-9, 300),
            None,
            True,
            -7,
            2**63,
        )
        told = {
            dice.choice(names): dice.choice(values) for _ in range(dice.choice((0, 1, 3, 9, 300)))
        }
        told["seal"] = self._lan.seal[1]
        body = dumps(told).encode()
        return Made(
            "JSON",
            who,
            self.with_body("POST", self.filled(dice.choice(paths)), who, body, "application/json"),
        )

    def question(self) -> Made:
        """A page or an answer for programs with odd words behind the question mark."""
        dice, who = self._dice, self.who()
        path = self.filled(
            dice.choice([path for method, path in self._addresses if method == "GET"])
        )
        known = [*KNOWN, *(name for form in self.forms for name, _ in form.fields)]
        link = urlsplit(dice.choice(self.links))
        pairs = [(dice.choice(known), self.poison()) for _ in range(dice.choice((1, 2, 5)))]
        if dice.random() < 0.4:
            path, pairs = link.path, [*parse_qsl(link.query), *pairs]
        words = urlencode(pairs, errors="replace")
        if dice.random() < 0.1:
            words = quote_from_bytes(dice.randbytes(dice.choice((9, 900))), safe="=&%+")
        accept = dice.choice(("Accept: text/html", "Accept: */*", "Accept-Encoding: gzip"))
        return Made("question", who, self.head("GET", f"{path}?{words}", who, accept).encode())

    def address(self) -> Made:
        """A path with odd parts, as a page, a file or a write."""
        dice, who = self._dice, self.who()
        method, path = dice.choice(self._addresses)
        parts = self.filled(path).split("/")
        parts[dice.randrange(len(parts))] = quote(
            self.poison()[:3000], safe=dice.choice(("", "/", "/%.;")), errors="replace"
        )
        path = "/".join(parts) or "/"
        if dice.random() < 0.2:
            path = (
                dice.choice(("//", "/..", "/%00", "/%ff%fe", "/" + "a" * 9_000, "/%2e%2e/")) + path
            )
        path = path if path.startswith("/") else f"/{path}"
        if method == "POST":
            body = urlencode({"seal": self._lan.seal[1]}).encode()
            return Made("address", who, self.with_body("POST", path, who, body, FORM))
        method = dice.choices(("GET", "HEAD", dice.choice(METHODS)), (8, 1, 1))[0]
        return Made("address", who, self.head(method, path, who).encode(), method != "CONNECT")

    def filled(self, path: str) -> str:
        """An address of the app with its parts filled in, mostly with what is there."""
        dice = self._dice
        while "{" in path:
            front, _, rest = path.partition("{")
            name, _, rest = rest.partition("}")
            there = dice.choice(self.numbers)
            figure = dice.choice((there, there, there, "1", dice.choice(FIGURES)))
            word = dice.choice(
                ("bow", "shed", "skin-a", "patch", "demo-laminating", "batch-1", "mark-1")
            )
            told = (
                figure if name.endswith(":int") else dice.choice((word, word, self.poison()[:99]))
            )
            path = front + quote(told, safe="", errors="replace") + rest
        return path

    def body(self) -> Made:
        """A write whose body is not what its header says, or not what anybody would send."""
        dice, who = self._dice, self.who()
        seal, form = self._lan.seal[1], dice.choice(self.forms)
        plain = self._filled_in(form)
        deep = b'{"seal":' * 5000 + b"1" + b"}" * dice.choice((5000, 4999, 0))
        parts = f'--x\r\nContent-Disposition: form-data; name="seal"\r\n\r\n{seal}\r\n--x--\r\n'
        bodies = (
            (plain, "multipart/form-data; boundary=x"),
            (parts.encode(), "multipart/form-data; boundary=x"),
            (spoilt(dice, parts.encode()), 'multipart/form-data; boundary="'),
            (spoilt(dice, plain), FORM),
            (plain, "application/json"),
            (
                plain,
                dice.choice(
                    ("", ";", "text/plain; charset=utf-16", f"{FORM};charset=\xff", "x" * 5000)
                ),
            ),
            (plain.decode().encode("utf-16"), FORM),
            (deep, "application/json"),
            (b"[" * 20_000 + b"]" * 20_000, "application/json"),
            (
                b'{"seal":"' + seal.encode() + b'","what":"\\ud800","number":1e999}',
                "application/json",
            ),
            (b'{"seal":"' + seal.encode() + b'","what":' + b"9" * 5000 + b"}", "application/json"),
            (b'{"seal":"' + seal.encode() + b'","what":{"a":[1]}}', "application/json"),
            (b"\xef\xbb\xbf" + orjson.dumps({"seal": seal}), "application/json"),
            (
                dice.randbytes(dice.choice((1, 300, 60_000))),
                dice.choice((FORM, "application/json")),
            ),
            (b"a=1&" * 10_000 + plain, FORM),
            (b"&" * 30_000 + b"seal=" + seal.encode(), FORM),
            (b"%" * 30_000 + b"&seal=" + seal.encode(), FORM),
            (b"x" * 65_537, FORM),
            (plain, f"{FORM}\r\nContent-Encoding: gzip"),
        )
        body, kind = dice.choice(bodies)
        more = (f"X-Seal: {seal}",) if dice.random() < 0.5 else ()
        data = self.with_body("POST", form.action, who, body, kind, *more)
        return Made("body", who, data)

    def broken(self) -> Made:
        """What is no request, or no whole one, or begins as something else."""
        dice, who, form = self._dice, self.who(), self._dice.choice(self.forms)
        page = self.head("GET", dice.choice(self.links), who).encode()
        press = self.with_body("POST", form.action, who, self._filled_in(form), FORM)
        noise = dice.randbytes(dice.choice((1, 60, 3000)))
        whole = (page, page, press, press)
        data = dice.choice((spoilt(dice, dice.choice(whole)), _cut(dice, page), noise, *OTHERS))
        return Made("broken", who, data, whole=False)

    def odd_head(self) -> Made:
        """First lines as no browser writes them."""
        who = self.who()
        page = self.head("GET", self._dice.choice(self.links), who)
        for old, new in self._dice.sample(ODD_HEADS, self._dice.choice((1, 1, 2))):
            page = page.replace(old, new, 1)
        return Made("odd head", who, page.encode("latin-1"), whole=False)

    def odd_length(self) -> Made:
        """A write that says another length than it has, or two, or hides a question behind it."""
        dice, who, form = self._dice, self.who(), self._dice.choice(self.forms)
        sent = self._filled_in(form)
        press = self.with_body("POST", form.action, who, sent, FORM).decode()
        length = f"Content-Length: {len(sent)}"
        odd = dice.choice(ODD_LENGTHS).format(
            length=length, more=len(sent) + 50, less=len(sent) // 2
        )
        behind = dice.choice(("", "0\r\n\r\n", HIDDEN, "0\r\n\r\n" + HIDDEN))
        return Made("odd length", who, (press.replace(length, odd) + behind).encode(), whole=False)

    def chunked(self) -> Made:
        """A write in pieces: whole, cut off, or with pieces that are none."""
        dice, who, form = self._dice, self.who(), self._dice.choice(self.forms)
        sent = self._filled_in(form)
        head = self.head(
            "POST", form.action, who, f"Content-Type: {FORM}", "Transfer-Encoding: chunked"
        )
        whole = f"{len(sent):x}\r\n".encode() + sent + b"\r\n0\r\n\r\n"
        pieces = dice.choice((whole, _cut(dice, whole), spoilt(dice, whole), *ODD_PIECES))
        return Made("chunked", who, head.encode() + pieces, whole=False)

    def pipelined(self) -> Made:
        """Several at once down one wire."""
        dice, who, form = self._dice, self.who(), self._dice.choice(self.forms)
        page = self.head("GET", dice.choice(self.links), who).encode()
        press = self.with_body("POST", form.action, who, self._filled_in(form), FORM)
        first = dice.choice((page * dice.choice((1, 4, 20)), press, press + page))
        kept = first.replace(b"Connection: close", b"Connection: keep-alive")
        return Made("pipelined", who, kept + page)

    def _chosen(self, form: Form) -> dict[str, str]:
        """As somebody would send it, any of each choice taken."""
        return dict(self._dice.sample(form.fields, len(form.fields)))

    def _filled_in(self, form: Form) -> bytes:
        fields = {**self._chosen(form), "seal": self._lan.seal[1]}
        return urlencode(fields, errors="replace").encode()

    def door(self) -> Made:
        """At the door: a passcode and where to go on, or cookies of nobody's."""
        fields = {"seal": self._lan.seal[1], "passcode": self.poison(), "next": self.poison()}
        body = urlencode(fields, errors="replace").encode()
        return Made("door", "nobody", self.with_body("POST", "/sign-in", "nobody", body, FORM))


_KINDS: tuple[tuple[Callable[[HostileRequests], Made], float], ...] = (
    (HostileRequests.form, 30),
    (HostileRequests.json, 10),
    (HostileRequests.question, 20),
    (HostileRequests.address, 12),
    (HostileRequests.body, 8),
    (HostileRequests.broken, 6),
    (HostileRequests.odd_head, 5),
    (HostileRequests.odd_length, 4),
    (HostileRequests.chunked, 3),
    (HostileRequests.pipelined, 1),
    (HostileRequests.door, 1),
)
