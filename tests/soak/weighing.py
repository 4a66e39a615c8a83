"""What a process weighs and what it has cost, as its /proc tells."""

import os
import re
from pathlib import Path


def held_mib(process_id: int) -> float:
    """Resident memory."""
    told = Path(f"/proc/{process_id}/status").read_text(encoding="ascii")
    found = re.search(r"^VmRSS:\s+(\d+) kB", told, re.MULTILINE)
    assert found is not None
    return int(found[1]) / 1024


def cpu_s(process_id: int) -> float:
    """Time on a processor, its own and the kernel's for it."""
    told = Path(f"/proc/{process_id}/stat").read_text(encoding="utf-8").rpartition(")")[2].split()
    return (int(told[11]) + int(told[12])) / os.sysconf("SC_CLK_TCK")
