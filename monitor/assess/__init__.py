"""The one place that answers "what state is this layup in?". Pure: time is an argument."""

from monitor.assess.case import Case, Settled
from monitor.assess.joint import Joint, JointStage, join
from monitor.assess.settle import settle, settling_point
from monitor.assess.work import Worked, assess, work

__all__ = [
    "Case",
    "Joint",
    "JointStage",
    "Settled",
    "Worked",
    "assess",
    "join",
    "settle",
    "settling_point",
    "work",
]
