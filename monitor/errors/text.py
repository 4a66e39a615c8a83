"""Text that people, files and sensors gave: what may be kept, and how the rest is shown."""

import re

from monitor.errors.tree import BadInput

LONGEST = 500
"""Letters of one text in the book."""

# Control characters (ECMA-48 has the terminals' commands begin with them), the two separators that
# end a line, what turns the direction of writing (the property Bidi_Control of Unicode Standard
# Annex #9), and halves of pairs: bytes that were no UTF-8.
_ODD = "\x00-\x1f\x7f-\x9f\u2028\u2029\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\ud800-\udfff"
_UNSEEN = re.compile(f"[{_ODD}]")
_UNSEEN_BUT_LINES = re.compile(f"(?![\n\t])[{_ODD}]")
_NOT_PLAIN_IN_JSON = re.compile(f"(?![\n])[{_ODD}]")


def shown(text: str) -> str:
    """One line in which nothing acts on whatever shows it: `\\x1b` stands for the sign itself."""
    return _UNSEEN.sub(_by_number, text)


def shown_lines(text: str) -> str:
    """As `shown`, where lines and columns of the text are its own."""
    return _UNSEEN_BUT_LINES.sub(_by_number, text)


def json_shown(document: str) -> str:
    """The same JSON for a terminal: what would act on it is told by its number, as JSON does."""
    return _NOT_PLAIN_IN_JSON.sub(lambda found: f"\\u{ord(found[0]):04x}", document)


def must_be_words(text: str, what: str) -> str:
    """The text, if it may stand in the book. Raises BadInput, which says `what` it is."""
    unseen = _UNSEEN.search(text)
    if unseen is not None:
        before = f" after {text[: unseen.start()][-20:]!r}" if unseen.start() else ""
        raise BadInput(
            f"{what} holds a sign that can't be seen ({_by_number(unseen)}){before}.",
            "Type it by hand, on one line, instead of pasting it.",
        )
    if len(text) > LONGEST:
        raise BadInput(f"{what} is too long.", f"Use {LONGEST} letters at most.")
    return text


def _by_number(found: re.Match[str]) -> str:
    number = ord(found[0])
    return f"\\x{number:02x}" if number < 0x100 else f"\\u{number:04x}"
