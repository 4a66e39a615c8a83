"""What is said at once when a batch is logged: too deep, too thin, too early, over wax."""

import math
from collections.abc import Iterator

from monitor.cautions import HOT_CUP
from monitor.overview import COATS, BatchView, LayupView
from monitor.records import Batch, MarkKind, Role, Sheet

UNKNOWN_DEPTH_MM = 10.0
"""Deeper than this in one pass is the maker's to allow. Common practice, no source."""


def entry_cautions(view: LayupView, batch: Batch) -> Iterator[str]:
    """What speaks against a batch just logged, a sentence each; nothing where nothing does."""
    mine = next(seen for seen in view.batches if seen.batch.id == batch.id)
    if batch.thickness_mm is not None:
        yield from _thickness(batch, batch.thickness_mm, mine.sheet)
    if batch.role in COATS:
        yield from _over_what(view, mine)


def _thickness(batch: Batch, thickness_mm: float, sheet: Sheet) -> Iterator[str]:
    if batch.role in COATS:
        film = sheet.wet_film_mm
        if film is not None and not film[0] <= thickness_mm <= film[1]:
            thin = thickness_mm < film[0]
            yield (
                f"{thickness_mm:g} mm wet is {'thinner' if thin else 'thicker'} than the sheet's "
                f"{film[0]:g} to {film[1]:g} mm: "
                f"{'a thin film may never cure' if thin else 'a thick one sags and cracks'}."
            )
        return
    limit = sheet.depth_max_mm
    if limit is not None and thickness_mm > limit:
        passes = math.ceil(thickness_mm / limit)
        yield (
            f"{thickness_mm:g} mm in one pass, the sheet allows {limit:g} mm: {passes} passes. "
            f"Deep resin runs hot, cracks and can smoke. {HOT_CUP}"
        )
    elif limit is None and thickness_mm > UNKNOWN_DEPTH_MM and batch.role is Role.FILLET:
        yield (
            f"{thickness_mm:g} mm in one pass, and your sheet gives no depth: ask the maker. "
            f"Deep resin runs hot. {HOT_CUP}"
        )


def _over_what(view: LayupView, mine: BatchView) -> Iterator[str]:
    if "coated-too-early" in mine.worked.assessment.overruled_by:
        yield (
            "The coat under it was still soft: it may wrinkle. Let it go fully hard, sand to "
            "sound, and coat again."
        )
    under = [
        seen
        for seen in view.batches
        if seen.batch.role in COATS and seen.batch.mixed_at < mine.batch.mixed_at
    ]
    if not under or not under[-1].batch.waxed:
        return
    sanded = any(
        mark.kind in (MarkKind.SANDED_DUST, MarkKind.SANDED_GUM)
        and under[-1].batch.mixed_at < mark.at <= mine.batch.mixed_at
        for mark in view.marks
    )
    if not sanded:
        yield (
            "The coat under it is waxed and no sanding is logged: it will peel. Wash it, sand "
            "dull all over, then coat."
        )
