"""Column types: how moments, lengths and words of the trade lie in the database."""

import json
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from typing import Any, TypeVar

from sqlalchemy import BigInteger, Dialect, Double, Text
from sqlalchemy.types import TypeDecorator

from monitor.store.faults import CAN_NOT_BE, damage

T = TypeVar("T")

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MICROSECOND = timedelta(microseconds=1)


def us_from(moment: datetime) -> int:
    """Unix microseconds. Raises ValueError for a moment without an offset from UTC."""
    if moment.tzinfo is None:
        raise ValueError(f"{moment} has no offset from UTC")
    return (moment - _EPOCH) // _MICROSECOND


def moment_from(time_us: int) -> datetime:
    """A moment in UTC from Unix microseconds, exactly."""
    return _EPOCH + timedelta(microseconds=time_us)


class Kept(TypeDecorator[T]):
    """Reads values back; one that can't be what its column holds is damage, and told as that."""

    def made_of(self, value: Any) -> T:
        raise NotImplementedError

    def process_result_value(self, value: Any | None, dialect: Dialect) -> T | None:
        if value is None:
            return None
        try:
            return self.made_of(value)
        except CAN_NOT_BE as fault:
            raise damage(fault) from fault


class Moment(Kept[datetime]):
    """An aware datetime as Unix microseconds, UTC."""

    impl = BigInteger
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> int | None:
        return None if value is None else us_from(value)

    def made_of(self, value: int) -> datetime:
        return moment_from(value)


class Length(Kept[timedelta]):
    """A length of time in seconds."""

    impl = Double
    cache_ok = True

    def process_bind_param(self, value: timedelta | None, dialect: Dialect) -> float | None:
        return None if value is None else value.total_seconds()

    def made_of(self, value: float) -> timedelta:
        return timedelta(seconds=value)


class Word(Kept[StrEnum]):
    """One of an enum's words, as its text."""

    impl = Text
    cache_ok = True

    def __init__(self, words: type[StrEnum]) -> None:
        super().__init__()
        self.words = words

    def process_bind_param(self, value: StrEnum | None, dialect: Dialect) -> str | None:
        return None if value is None else self.words(value).value

    def made_of(self, value: str) -> StrEnum:
        return self.words(value)


class Lines(Kept[tuple[str, ...]]):
    """Lines of text as JSON text."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Sequence[str] | None, dialect: Dialect) -> str | None:
        return None if value is None else json.dumps(list(value), ensure_ascii=False)

    def made_of(self, value: str) -> tuple[str, ...]:
        return tuple(json.loads(value))


class Numbers(Kept[tuple[int, ...]]):
    """A few whole numbers as JSON text."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Sequence[int] | None, dialect: Dialect) -> str | None:
        return None if value is None else json.dumps(list(value))

    def made_of(self, value: str) -> tuple[int, ...]:
        return tuple(json.loads(value))
