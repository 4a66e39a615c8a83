"""What may stand in the book, and how the rest is shown, held against the Unicode database."""

import json
import sys
import unicodedata

import pytest

from monitor.errors import BadInput
from monitor.errors.text import LONGEST, json_shown, must_be_words, shown, shown_lines

# Control characters, line and paragraph separators, lone surrogates: general categories of the
# Unicode Standard, chapter 4.5.
UNSEEN = {"Cc", "Zl", "Zp", "Cs"}
# Explicit formatting characters of Unicode Standard Annex #9, table 4; and the implicit marks of
# its section 2.6, which the database doesn't tell apart by a class of their own.
TURNING = {"LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI"}
MARKS = {"\u061c", "\u200e", "\u200f"}


def is_odd(sign: str) -> bool:
    turns = unicodedata.bidirectional(sign) in TURNING or sign in MARKS
    return turns or unicodedata.category(sign) in UNSEEN


EVERY = [chr(number) for number in range(sys.maxunicode + 1)]
ODD = [sign for sign in EVERY if is_odd(sign)]


def test_every_sign_that_acts_is_shown_by_its_number() -> None:
    """Those that the Unicode database calls controls, and no other."""
    changed = [sign for sign in EVERY if shown(sign) != sign]
    assert changed == ODD
    assert all(shown(sign).isprintable() for sign in ODD)
    assert [sign for sign in EVERY if shown_lines(sign) != sign] == [
        sign for sign in ODD if sign not in "\n\t"
    ]


def test_no_two_signs_are_shown_alike() -> None:
    assert len({shown(sign) for sign in ODD}) == len(ODD)
    assert shown("a\x1b[2Jb\u202ec\x9b") == "a\\x1b[2Jb\\u202ec\\x9b"


@pytest.mark.parametrize("sign", [s for s in ODD if unicodedata.category(s) != "Cs"])
def test_json_stays_the_same_json(sign: str) -> None:
    """RFC 8259, section 7: any character may be told by its number."""
    document = json.dumps({"what": f"a{sign}b"}, ensure_ascii=False, indent=2)
    told = json_shown(document)
    assert json.loads(told) == json.loads(document)
    assert all(line.isprintable() for line in told.split("\n"))


@pytest.mark.parametrize("sign", [*ODD[::97], "\x00", "\x1b", "\r", "\n", "\t", "\u202e"])
def test_no_such_sign_goes_into_the_book(sign: str) -> None:
    """Which sign it is and where is told, and that it is to be typed by hand."""
    with pytest.raises(BadInput) as refused:
        must_be_words(f"hatch{sign}lid", "The part's name")
    what, remedy = refused.value.lines()
    assert what == (
        f"The part's name holds a sign that can't be seen ({shown(sign)}) after 'hatch'."
    )
    assert "by hand" in remedy


@pytest.mark.parametrize(
    "words",
    [
        "hatch lid, outside",
        '=HYPERLINK("http://x.example","a")',
        "<b>{{7*7}}</b> %s%n \\x1b",
        "Deckel für Mühle, 塗装, קופסה, صندوق, 👩\u200d🔧",
        "x" * LONGEST,
    ],
)
def test_words_are_left_alone(words: str) -> None:
    """Whatever is plain text, in any writing, is kept and shown as it was typed."""
    assert must_be_words(words, "It") == shown(words) == words


def test_what_is_too_long() -> None:
    with pytest.raises(BadInput, match="too long"):
        must_be_words("x" * (LONGEST + 1), "It")
