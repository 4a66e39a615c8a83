"""One value of a sheet put right in its file, the old one kept beside it as a comment."""

import tomllib
from collections.abc import MutableMapping
from typing import Any

import tomlkit
from tomlkit.exceptions import ParseError

from monitor.errors import BadInput
from monitor.errors.text import must_be_words, shown
from monitor.sheets.keys import BY_NAME
from monitor.sheets.questions import GEL, QUESTIONS, Answer, Question, compose
from monitor.sheets.read import parse_sheet

_QUESTIONS = {question.key: question for question in QUESTIONS}


def question_of(key: str) -> Question:
    """What is asked for that key. Raises BadInput for one that isn't asked."""
    if key not in _QUESTIONS:
        raise BadInput(f"A sheet has no {key} that can be put right.", "Choose one of its lines.")
    return _QUESTIONS[key]


def typed_value(text: str, key: str) -> str:
    """The value a sheet's file holds for a key, as it would be typed; empty for a blank."""
    return _typed(key, _kept(tomllib.loads(text), key))


def mended(text: str, key: str, typed: str, origin: str | None, day: str) -> str:
    """The sheet's file with one value changed, and where it came from.

    `typed` is what a person types for that question; empty makes it a blank. `day` stands in the
    comment that keeps the old value. Raises BadInput where the answer or the whole can't be used.
    """
    question = question_of(key)
    words = typed.strip()
    if not words and not question.may_be_blank:
        raise BadInput(f"{question.words} can't be left empty.", "Type it as the sheet has it.")
    if BY_NAME.get(key) and BY_NAME[key].quantity == "text":
        must_be_words(words, question.words)
    must_be_words((origin or "").strip(), "Where it comes from")
    try:
        document = tomlkit.parse(text)
    except ParseError:
        raise BadInput("The sheet's file can't be read.", "Mend it in an editor first.") from None
    was = _typed(key, _kept(document.unwrap(), key)) or "blank"
    if words:
        _put(document, key, _value(key, words))
    else:
        _take_out(document, key)
    _say_origin(document, key, origin if words else None)
    document.add(tomlkit.comment(f"{key} was {shown(was)} until {day}"))
    whole = tomlkit.dumps(document)
    parse_sheet(whole, "the sheet")
    return whole


def _value(key: str, words: str) -> Any:
    """What the file holds for an answer: the same reader as for a new sheet."""
    return _kept(tomllib.loads(compose((Answer(key, words),))), key)


def _kept(raw: MutableMapping[str, Any], key: str) -> Any:
    place: Any = raw
    for word in key.split("."):
        if not isinstance(place, dict) or word not in place:
            return None
        place = place[word]
    return place


def _typed(key: str, value: Any) -> str:
    if value is None:
        return ""
    if key == GEL:
        return "; ".join(_cup(row) for row in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        between = " " if BY_NAME[key].quantity == "parts by weight" else " to "
        return between.join(f"{figure:g}" for figure in value)
    return f"{value:g}" if isinstance(value, int | float) else str(value)


def _cup(row: MutableMapping[str, Any]) -> str:
    told = [row.get(name) for name in ("temperature_c", "minutes", "cup_g", "catalyst_pct")]
    while told and told[-1] is None:
        told.pop()
    return " ".join("-" if figure is None else f"{figure:g}" for figure in told)


def _put(document: tomlkit.TOMLDocument, key: str, value: Any) -> None:
    table, _, last = key.rpartition(".")
    if key == GEL:
        rows = tomlkit.aot()
        for row in value:
            rows.append(tomlkit.item(row))
        if GEL in document:
            document.remove(GEL)
        document.append(GEL, rows)
        return
    place: Any = document
    if table:
        if table not in document:
            document.append(table, tomlkit.table())
        place = document[table]
    place[last] = value


def _take_out(document: tomlkit.TOMLDocument, key: str) -> None:
    table, _, last = key.rpartition(".")
    place: Any = document.get(table) if table else document
    if place is not None and last in place:
        place.remove(last)


def _say_origin(document: tomlkit.TOMLDocument, key: str, origin: str | None) -> None:
    """The value's own line under [from]. Without one, that of its table still stands."""
    place: Any = document.get("from")
    if origin is None or not origin.strip() or key in ("name", "unit", "source", "version"):
        if place is not None and key in place:
            place.remove(key)
        return
    if place is None:
        document.append("from", tomlkit.table())
        place = document["from"]
    place[key] = origin.strip()
