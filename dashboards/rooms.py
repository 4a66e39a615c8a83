"""The modules of pages that ask and write; each says its own addresses in `routes`."""

from dashboards import (
    alerted,
    api,
    earlier,
    marking,
    mixing,
    parts,
    planning,
    putting_right,
    reviewing,
    sensing,
    sheetbook,
    timekeeping,
)

ROOMS = (
    marking,
    parts,
    putting_right,
    reviewing,
    mixing,
    planning,
    sensing,
    sheetbook,
    alerted,
    earlier,
    timekeeping,
    api,
)
