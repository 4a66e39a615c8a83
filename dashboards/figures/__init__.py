"""Charts of one layup: each module a pure `draw`, and a `tell` for those who don't see it."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from importlib import import_module

from dashboards.figures.parts.frame import Drawing
from dashboards.figures.parts.told import Told
from monitor.answers.views import LayupHistory

FIGURES = ("windows", "count", "temperature", "humidity")
"""Modules of this folder, in the order in which their charts stand on the page."""


@dataclass(frozen=True, slots=True)
class Chart:
    """One chart: its name in addresses, its title, how to read it, and what makes it."""

    name: str
    title: str
    key: str
    draw: Callable[[LayupHistory], Drawing]
    tell: Callable[[LayupHistory], Told]


@cache
def charts() -> tuple[Chart, ...]:
    """Every chart. By name, so that each module can also be run by itself."""
    modules = (import_module(f"{__name__}.{name}") for name in FIGURES)
    return tuple(
        Chart(name, module.TITLE, module.KEY, module.draw, module.tell)
        for name, module in zip(FIGURES, modules, strict=True)
    )


__all__ = ["FIGURES", "Chart", "Told", "charts"]
