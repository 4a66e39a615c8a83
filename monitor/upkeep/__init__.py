"""What keeps a shop's folder and database in order, by night and after a fault."""

from monitor.upkeep.keeper import Upkeep

__all__ = ["Upkeep"]
