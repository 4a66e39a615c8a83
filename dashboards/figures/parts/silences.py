"""Where no reading was good enough to count."""

from itertools import pairwise

import numpy as np

from dashboards.figures.parts.timeline import LONGEST_LINE_S, longest_line_s
from monitor.answers.views import LayupHistory


def silences(history: LayupHistory) -> tuple[tuple[float, float], ...]:
    """From–to in Unix seconds: no good reading of any sensor beside the part."""
    times = [stay.time_s for stay in history.stays]
    heard = np.unique(np.concatenate([np.empty(0), *times]))
    heard = heard[(heard >= history.start_s) & (heard <= history.end_s)]
    longest = max([LONGEST_LINE_S, *(longest_line_s(column) for column in times)])
    edges = [history.start_s, *heard.tolist(), history.end_s]
    return tuple((left, right) for left, right in pairwise(edges) if right - left > longest)
