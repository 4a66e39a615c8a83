"""Problems of a sheet in plain words: which key, what stands there, and what to do."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from pydantic import ValidationError

from monitor.errors import SheetError
from monitor.sheets.keys import BY_NAME, TABLES, Key
from monitor.sheets.model import SheetFile

MISSING = "missing"
_LONGEST = 60
_Path = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Problem:
    key: str
    value: str
    remedy: str

    def line(self) -> str:
        line = f"{self.key}: {self.value}: {self.remedy}"
        return "".join(sign if sign.isprintable() else "?" for sign in line)


def shown(value: object) -> str:
    """A value as it stands in the file, cut short where it is long."""
    if isinstance(value, bool):
        text = str(value).lower()
    elif isinstance(value, str):
        text = '"' + value.replace("\n", " ") + '"'
    elif isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        text = f"{value:.0f}"
    elif isinstance(value, list | tuple):
        text = "[" + ", ".join(shown(item) for item in value[:5]) + "]"
    elif isinstance(value, int) and abs(value) >= 10**18:
        text = "a number too long to read"
    elif isinstance(value, Mapping):
        text = "a table"
    else:
        text = str(value)
    return text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…"


def sheet_error(where: str, problems: Iterable[Problem]) -> SheetError:
    """All problems as one error. The remedy line holds every one, so two lines show them all."""
    lines = tuple(problem.line() for problem in problems)
    if len(lines) == 1:
        what = f"{where} can't be used: one thing to put right."
    else:
        what = f"{where} can't be used: {len(lines)} things to put right."
    return SheetError(what, " | ".join(lines), lines)


def typed(raw: Mapping[str, Any]) -> tuple[SheetFile, tuple[Problem, ...]]:
    """The file's shape, and what is the wrong type or unknown; the rest of it stays readable.

    What is wrong is left out of the returned file, so that the checks see all that is right.
    """
    rest = _copied(raw)
    problems: dict[str, Problem] = {}
    # Twice is enough: what was wrong is gone, and taking it out makes nothing else wrong.
    try:
        return SheetFile.model_validate(rest), ()
    except ValidationError as error:
        wrong = [(_place(e["loc"]), str(e["type"])) for e in error.errors(include_url=False)]
    for path, what in wrong:
        if _holds(rest, path):
            problem = _problem(path, what, _taken(rest, path))
            problems.setdefault(problem.key, problem)
    return SheetFile.model_validate(rest), tuple(problems.values())


def _copied(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {key: _copied(item) for key, item in value.items()}
    return [_copied(item) for item in value] if isinstance(value, list) else value


def _place(loc: _Path) -> _Path:
    """Where the wrong value stands: the key itself, not the figure inside its pair."""
    if loc[0] == "gel":
        return loc[:3]
    return loc[:2] if loc[0] in TABLES else loc[:1]


def _holds(value: Any, path: _Path) -> bool:
    for step in path:
        if isinstance(step, int):
            if not isinstance(value, list) or step >= len(value):
                return False
        elif not isinstance(value, dict) or step not in value:
            return False
        value = value[step]
    return True


def _taken(value: Any, path: _Path) -> object:
    """The value at the path, taken out. A row of a list leaves an empty row in its place."""
    for step in path[:-1]:
        value = value[step]
    last = path[-1]
    if isinstance(last, int):
        taken, value[last] = value[last], {}
        return taken
    return value.pop(last)


def dotted(path: _Path) -> str:
    """A place as people read it: `stages.sand`, `gel[2].minutes` (rows counted from one)."""
    text = ""
    for step in path:
        text += f"[{step + 1}]" if isinstance(step, int) else f".{step}" if text else step
    return text


def _problem(path: _Path, what: str, value: object) -> Problem:
    key = dotted(path)
    plain = ".".join(step for step in path if isinstance(step, str))
    if path[0] == "from" and len(path) > 1:
        remedy = 'say where it came from in quotes, such as "printed sheet, page 2"'
    elif len(path) == 2 and isinstance(path[1], int):
        remedy = "start each cup with [[gel]] on a line of its own"
    elif plain in BY_NAME and what != "extra_forbidden":
        remedy = _right_type(BY_NAME[plain], value)
    elif path[0] in TABLES and len(path) == 1:
        remedy = _right_table(plain)
    else:
        remedy = "take this line out: a sheet has no such key" + _guess(plain)
    return Problem(key, shown(value), remedy)


def _right_type(key: Key, value: object) -> str:
    line = f"{key.last} = {key.example}"
    if key.quantity == "flag":
        return "write true or false, without quotes"
    if key.quantity == "text":
        return f"write words in quotes, such as {line}"
    if key.quantity == "choice":
        near = get_close_matches(str(value), key.choices, n=1)
        hint = f" (did you mean {near[0]}?)" if near else ""
        words = [f'"{word}"' for word in key.choices]
        return f"write {', '.join(words[:-1])} or {words[-1]}{hint}"
    if key.pair:
        return f"write two numbers in square brackets, such as {line}"
    return f"write one number without quotes, such as {line}"


def _right_table(name: str) -> str:
    if name == "gel":
        return "give each cup its own rows under [[gel]], with two brackets"
    return f"write [{name}] on a line of its own, and its keys under it"


def _guess(plain: str) -> str:
    """`; did you mean …?`: the same key in another table, or a near spelling."""
    last = plain.rpartition(".")[2]
    if last.endswith("_f") and (renamed := plain[:-1] + "c") in BY_NAME:
        return f'; did you mean {renamed}? It keeps that name with unit = "f" too'
    same = [name for name, key in BY_NAME.items() if key.last == last]
    near = same or get_close_matches(plain, [*BY_NAME, *TABLES], n=1, cutoff=0.7)
    if not near:
        lasts = {key.last: name for name, key in BY_NAME.items()}
        near = [lasts[word] for word in get_close_matches(last, lasts, n=1, cutoff=0.75)]
    return f"; did you mean {near[0]}?" if near else ""


def missing(key: str) -> Iterator[Problem]:
    """The one problem of a key that must be there."""
    example = BY_NAME.get(key)
    line = f", such as {example.last} = {example.example}" if example else ""
    yield Problem(key, MISSING, f"give it{line}")
