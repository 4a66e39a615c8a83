"""A resin's sheet: read from a TOML file, checked, kept."""

from monitor.sheets.read import load_sheet, parse_sheet
from monitor.sheets.shelf import Shelf
from monitor.sheets.show import describe

__all__ = ["Shelf", "describe", "load_sheet", "parse_sheet"]
