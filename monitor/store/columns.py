"""Column types: how moments, lengths and words of the trade lie in the database."""

import json
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from enum import StrEnum

from sqlalchemy import BigInteger, Dialect, Double, Text
from sqlalchemy.types import TypeDecorator

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


class Moment(TypeDecorator[datetime]):
    """An aware datetime as Unix microseconds, UTC."""

    impl = BigInteger
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> int | None:
        return None if value is None else us_from(value)

    def process_result_value(self, value: int | None, dialect: Dialect) -> datetime | None:
        return None if value is None else moment_from(value)


class Length(TypeDecorator[timedelta]):
    """A length of time in seconds."""

    impl = Double
    cache_ok = True

    def process_bind_param(self, value: timedelta | None, dialect: Dialect) -> float | None:
        return None if value is None else value.total_seconds()

    def process_result_value(self, value: float | None, dialect: Dialect) -> timedelta | None:
        return None if value is None else timedelta(seconds=value)


class Word(TypeDecorator[StrEnum]):
    """One of an enum's words, as its text."""

    impl = Text
    cache_ok = True

    def __init__(self, words: type[StrEnum]) -> None:
        super().__init__()
        self.words = words

    def process_bind_param(self, value: StrEnum | None, dialect: Dialect) -> str | None:
        return None if value is None else self.words(value).value

    def process_result_value(self, value: str | None, dialect: Dialect) -> StrEnum | None:
        return None if value is None else self.words(value)


class Lines(TypeDecorator[tuple[str, ...]]):
    """Lines of text as JSON text."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Sequence[str] | None, dialect: Dialect) -> str | None:
        return None if value is None else json.dumps(list(value), ensure_ascii=False)

    def process_result_value(self, value: str | None, dialect: Dialect) -> tuple[str, ...] | None:
        return None if value is None else tuple(json.loads(value))


class Numbers(TypeDecorator[tuple[int, ...]]):
    """A few whole numbers as JSON text."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Sequence[int] | None, dialect: Dialect) -> str | None:
        return None if value is None else json.dumps(list(value))

    def process_result_value(self, value: str | None, dialect: Dialect) -> tuple[int, ...] | None:
        return None if value is None else tuple(json.loads(value))
