"""What every cause, and every measurement or intervention that may follow, would read: the forward runs
behind a diagnosis.

How probable each is, given the readings, is the business of ``diagnosis``.
"""

from .candidates import nameless
from .forward_runs import Background, forward, phases, transform, wrapped
from .hypothesis import Hypothesis
from .inquiry import Inquiry, inquire
from .interventions import Staged, interventions_apart

__all__ = [
    "Background",
    "Hypothesis",
    "Inquiry",
    "Staged",
    "forward",
    "inquire",
    "interventions_apart",
    "nameless",
    "phases",
    "transform",
    "wrapped",
]
