"""A form as it is laid out: fields with their labels, values and choices."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from monitor.errors import MonitorError

Kind = Literal["text", "number", "choice", "tick", "long", "hidden"]
Choices = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Field:
    """One thing to fill in. `choices` are pairs of value and words."""

    name: str
    label: str
    kind: Kind = "text"
    value: str = ""
    choices: Choices = ()
    hint: str = ""
    wanted: bool = False

    @property
    def ticked(self) -> bool:
        return self.value in ("yes", "on", "true")


@dataclass(frozen=True, slots=True)
class FormPage:
    """A page with one form. `said` stands above it; `trouble` is what was wrong with it."""

    title: str
    action: str
    fields: tuple[Field, ...]
    submit: str
    back: tuple[str, str]
    said: tuple[str, ...] = ()
    trouble: MonitorError | None = None
    after: tuple[str, ...] = ()
    rest: tuple[Field, ...] = ()
    """What is seldom filled in: folded away under the button."""

    def again(self, typed: Mapping[str, str], trouble: MonitorError) -> "FormPage":
        """The same with what was typed in it, and what is wrong with that."""
        return replace(
            self,
            fields=refilled(self.fields, typed),
            rest=refilled(self.rest, typed),
            trouble=trouble,
        )


def refilled(fields: Iterable[Field], typed: Mapping[str, str]) -> tuple[Field, ...]:
    # A tick that is missing was taken out; any other field that is missing was never sent.
    return tuple(
        replace(field, value=typed.get(field.name, "" if field.kind == "tick" else field.value))
        for field in fields
    )


def choices_of(values: Iterable[str], words: Mapping[str, str] | None = None) -> Choices:
    """Each value with its words, or with itself where it has none."""
    return tuple((value, (words or {}).get(value, value)) for value in values)


def figure(value: float | None) -> str:
    """A number as it is typed; empty for none."""
    return "" if value is None else f"{value:.6g}"
