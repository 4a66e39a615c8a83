"""The sheets a layup's batches are judged by, each once."""

from monitor.answers.views import LayupHistory
from monitor.records import Sheet


def sheets_of(history: LayupHistory) -> tuple[Sheet, ...]:
    """By name; of two of the same name the newest."""
    return tuple({series.sheet.name: series.sheet for series in history.counts}.values())
