"""A new sheet as plain questions: one a key, in the order a printed sheet is read.

The asking is done by whoever has a terminal or a page; here are the questions, what an answer
may be, and the file they make.
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from monitor.errors import BadInput
from monitor.errors.text import must_be_words
from monitor.sheets.keys import BY_NAME, Key
from monitor.sheets.problems import MISSING, Problem
from monitor.sheets.read import examined

_ALL = ("polyester", "vinyl-ester", "epoxy")
_CATALYSED = ("polyester", "vinyl-ester")
GEL = "gel"
DEGREES = "°"
"""Stands for °C or °F in a question's unit, as the printed sheet has it."""


@dataclass(frozen=True, slots=True)
class Question:
    """One question. `kinds` says which resins it is for; a blank answer leaves its key out."""

    key: str
    words: str
    unit: str = ""
    hint: str = ""
    may_be_blank: bool = True
    kinds: tuple[str, ...] = _ALL

    def unit_said(self, unit: str) -> str:
        """The unit with °C or °F in the place of the bare degree."""
        return self.unit.replace(DEGREES, f"{DEGREES}{unit.upper()}")


@dataclass(frozen=True, slots=True)
class Answer:
    """What was typed for a key, and where that value came from (None: nobody said)."""

    key: str
    text: str
    origin: str | None = None


_AS_PRINTED = "as printed, in the sheet's own degrees"
_BARE = "since mixing, at the sheet's aim"

QUESTIONS: tuple[Question, ...] = (
    Question("name", "What do you call this resin?", may_be_blank=False),
    Question("kind", "What kind is it?", hint="polyester, vinyl-ester, epoxy", may_be_blank=False),
    Question("role", "What is it for?", hint="laminating, gel-coat, thickened, finishing"),
    Question("unit", "Which degrees does the printed sheet use?", hint="c or f"),
    Question("source", "Where do these figures come from?", hint="printed sheet, page 2, 2026-03"),
    Question("version", "Which version of the sheet is it?", hint="its date will do"),
    Question("air_inhibited", "Does it stay tacky where air reaches it?", hint="yes or no"),
    Question("over_epoxy", "Does the sheet allow it over epoxy?", hint="yes or no"),
    Question("working.temperature_c", "Working range?", DEGREES, f"two figures, {_AS_PRINTED}"),
    Question("working.humidity_max_pct", "Most humidity?", "%"),
    Question("working.dew_spread_min_c", "How far above the dew point must it be?", DEGREES),
    Question("count.base_c", "Base of the count?", DEGREES, _AS_PRINTED),
    Question("count.floor_c", "Floor, below which nothing cures?", DEGREES, _AS_PRINTED),
    Question("count.cap_c", "Cap, above which heat earns no more?", DEGREES, _AS_PRINTED),
    Question("mix.catalyst", "Which catalyst does it take?", kinds=_CATALYSED),
    Question("mix.catalyst_pct", "Catalyst range?", "%", "two figures", kinds=_CATALYSED),
    Question("mix.aim_pct", "Catalyst to aim for?", "%", kinds=_CATALYSED),
    Question("mix.catalyst_g_per_ml", "Density of the catalyst?", "g a ml", kinds=_CATALYSED),
    Question(
        "mix.ratio_by_weight",
        "Resin to hardener?",
        "parts by weight",
        "two figures, resin first: 100 40",
        kinds=("epoxy",),
    ),
    Question("mix.tolerance_pct", "How far off may the hardener be?", "%", kinds=("epoxy",)),
    Question("mix.wax_pct", "Wax solution in the last coat?", "%", kinds=_CATALYSED),
    Question("mix.filler_max_pct", "Most filler?", "%"),
    Question("mix.pigment_max_pct", "Most pigment?", "%"),
    Question("stages.gel", "Gel on the part?", "°-hours", _BARE),
    Question("stages.knife_trim", "Knife trim, from and to?", "°-hours", "two figures"),
    Question("stages.recoat", "Recoat without sanding, from and to?", "°-hours", "two figures"),
    Question("stages.recoat_max_hours", "Recoat no later than?", "hours"),
    Question("stages.sealed", "Waxed coat sealed?", "°-hours", kinds=_CATALYSED),
    Question("stages.flip", "Flip?", "°-hours"),
    Question("stages.sand", "Sand?", "°-hours"),
    Question("stages.props_off", "Props and clamps off, light load?", "°-hours"),
    Question("stages.load", "Load?", "°-hours"),
    Question("stages.full", "Full?", "°-hours"),
    Question("limits.depth_max_mm", "Deepest in one pass?", "mm"),
    Question("limits.part_max_c", "Hottest the part may run?", DEGREES, _AS_PRINTED),
    Question("limits.wet_film_mm", "Wet film of a coat?", "mm", "two figures"),
    Question(
        "limits.wax_temperature_c", "Range for the wax?", DEGREES, "two figures", kinds=_CATALYSED
    ),
    Question("limits.rescue_max_c", "Warmest for a rescue?", DEGREES, _AS_PRINTED),
    Question(
        GEL,
        "Cups timed to gel?",
        "°, minutes, grams, % catalyst",
        "one cup as 20 25 100 1.5, more after a semicolon; - where not given, epoxy without %",
    ),
)
_QUESTION_OF = {question.key: question for question in QUESTIONS}

PREAMBLE = (
    "Type what your maker's sheet says. Leave an answer empty where it doesn't say: a blank is "
    "an answer too. A figure is typed as printed: keys such as temperature_c keep that name for "
    "a sheet in °F. Add where a figure came from after a #, such as 240 # maker's reply, March."
)

_SPLIT = re.compile(r"\s+to\s+|\s*[;–]\s*|(?<=\d)\s*-\s*(?=\d)|\s+")
_NUMBER = re.compile(r"[-+]?\d{1,15}(?:[.,]\d{1,15})?")
_YES_NO = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}


def ask(prompt: Callable[[Question, str], str], echo: Callable[[str], None]) -> tuple[Answer, ...]:
    """Ask every question that fits, in order, and give back the answers.

    `prompt(question, unit_words)` returns what was typed; `echo(line)` says what was wrong with
    it before it is asked again. Where no origin follows a #, the answer to `source` stands.
    """
    answers: tuple[Answer, ...] = ()
    echo(PREAMBLE)
    for question in QUESTIONS:
        if _text_of(answers, "kind") not in (None, *question.kinds):
            continue
        unit_words = question.unit_said(_text_of(answers, "unit") or "c")
        while True:
            try:
                answers = answered(answers, question, prompt(question, unit_words))
                break
            except BadInput as refusal:
                echo(refusal.what)
                echo(refusal.remedy)
    return answers


def answered(answers: tuple[Answer, ...], question: Question, typed: str) -> tuple[Answer, ...]:
    """The answers with one more. A blank adds none.

    Raises BadInput where the answer can't be used, by itself or beside the earlier ones.
    """
    # A name may hold a # of its own (green tin #2).
    text, _, origin = (typed, "", "") if _is_text(question.key) else typed.partition("#")
    text = text.strip().lower() if _is_word(question.key) else text.strip()
    if not text and question.may_be_blank:
        return answers
    if not text:
        raise BadInput(f"{question.words} can't be left empty.", _remedy(question.key))
    if _is_text(question.key):
        must_be_words(text, question.words)
    must_be_words(origin.strip(), "Where it comes from")
    source = _text_of(answers, "source")
    answer = Answer(question.key, text, origin.strip() or source)
    more = (*answers, answer)
    before = {problem.key for problem in _problems(answers)}
    fresh = [problem for problem in _problems(more) if problem.key not in before]
    if fresh:
        raise BadInput(f"{typed.strip()} can't be used for {fresh[0].key}.", _said(fresh[0]))
    return more


def compose(answers: Sequence[Answer]) -> str:
    """The answers as a sheet's TOML text, each value's origin under [from].

    Raises BadInput for an answer that is not of its key's kind.
    """
    import tomlkit

    document = tomlkit.document()
    if _text_of(answers, "unit") == "f":
        document.add(tomlkit.comment("Figures as printed, in °F; the keys keep their names."))
    raw = _raw(answers)
    cups = raw.pop(GEL, [])
    origins = raw.pop("from", {})
    for key, value in raw.items():
        if not isinstance(value, dict):
            document.add(key, tomlkit.item(value))
    for key, value in raw.items():
        if isinstance(value, dict):
            document.add(tomlkit.nl())
            document.add(key, tomlkit.item(value))
    if cups:
        rows = tomlkit.aot()
        for cup in cups:
            rows.append(tomlkit.item(cup))
        document.add(GEL, rows)
    if origins:
        table = tomlkit.table()
        for key, words in origins.items():
            table.add(tomlkit.key(key), words)
        document.add("from", table)
    return tomlkit.dumps(document)


def _raw(answers: Sequence[Answer]) -> dict[str, Any]:
    raw: dict[str, Any] = {}
    origins: dict[str, str] = {}
    for answer in answers:
        table, _, last = answer.key.rpartition(".")
        place = raw.setdefault(table, {}) if table else raw
        place[last] = _cups(answer.text) if answer.key == GEL else _value(answer)
        if answer.origin and answer.key not in ("name", "unit", "source", "version"):
            origins[answer.key] = answer.origin
    if origins:
        raw["from"] = origins
    return raw


def _value(answer: Answer) -> Any:
    key = BY_NAME[answer.key]
    if key.quantity in ("text", "choice"):
        return answer.text
    if key.quantity == "flag":
        if answer.text.lower() not in _YES_NO:
            raise BadInput(f"{answer.text!r} is neither yes nor no.", _remedy(key.key))
        return _YES_NO[answer.text.lower()]
    figures = [_number(word, key) for word in _SPLIT.split(answer.text) if word]
    if len(figures) != (2 if key.pair else 1):
        raise BadInput(f"{answer.text!r} can't be used for {key.key}.", _remedy(key.key))
    return figures if key.pair else figures[0]


def _number(word: str, key: Key) -> float | int:
    if not _NUMBER.fullmatch(word):
        raise BadInput(f"{word!r} is not a number.", _remedy(key.key))
    figure = float(word.replace(",", "."))
    return int(figure) if figure.is_integer() else figure


_CUP_KEYS = ("temperature_c", "minutes", "cup_g", "catalyst_pct")


def _cups(text: str) -> list[dict[str, float | int]]:
    cups = []
    for row in filter(None, (part.strip() for part in text.split(";"))):
        words = row.split()
        if not 2 <= len(words) <= len(_CUP_KEYS):
            raise BadInput(f"{row!r} can't be used for a cup.", _remedy(GEL))
        pairs = zip(_CUP_KEYS, words, strict=False)
        cups.append({k: _number(w, BY_NAME[f"gel.{k}"]) for k, w in pairs if w != "-"})
    return cups


def _problems(answers: Sequence[Answer]) -> tuple[Problem, ...]:
    """What is wrong so far. What is only still missing may yet come, except inside a cup."""
    _, problems = examined(_raw(answers))
    return tuple(p for p in problems if p.value != MISSING or p.key.startswith("gel["))


def _said(problem: Problem) -> str:
    return problem.remedy[:1].upper() + problem.remedy[1:] + "."


def _remedy(key: str) -> str:
    """How to type an answer to that question."""
    if key == GEL:
        return "Type degrees, minutes, grams and % catalyst: 20 25 100 1.5; more after a semicolon."
    question, rule = _QUESTION_OF.get(key), BY_NAME[key]
    if rule.choices:
        return f"Type one of {', '.join(rule.choices)}."
    if rule.quantity == "flag":
        return "Type yes or no."
    if rule.pair:
        low, high = rule.example.strip("[]").split(", ")
        between = " " if rule.quantity == "parts by weight" else " to "
        return f"Type two numbers, such as {low}{between}{high}."
    hint = ", or leave it empty" if question is not None and question.may_be_blank else ""
    example = rule.example.strip('"')
    return f"Type {'words' if rule.quantity == 'text' else 'one number'}, such as {example}{hint}."


def _is_word(key: str) -> bool:
    return key != GEL and BY_NAME[key].quantity in ("choice", "flag")


def _is_text(key: str) -> bool:
    return key != GEL and BY_NAME[key].quantity == "text"


def _text_of(answers: Sequence[Answer], key: str) -> str | None:
    return next((answer.text for answer in answers if answer.key == key), None)
