"""What can go wrong, each with what to do about it; and what is fit to be said in a line."""

from monitor.errors.tree import (
    BadInput,
    HostError,
    MonitorError,
    PortError,
    SheetError,
    StoreError,
)

__all__ = ["BadInput", "HostError", "MonitorError", "PortError", "SheetError", "StoreError"]
