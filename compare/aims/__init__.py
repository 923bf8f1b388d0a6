"""Builds that meet stated readings: which order of the windings, adjusted how, and what part of production
meets all of them at once.

What can be wound and changed is enumerated in ``predict.interleave``; how production strays comes from
``predict.production``.
"""

from .ranking import AimedBuild, AimedBuilds, aimed_builds
from .target import TOLERANCE, Aim

__all__ = ["TOLERANCE", "Aim", "AimedBuild", "AimedBuilds", "aimed_builds"]
