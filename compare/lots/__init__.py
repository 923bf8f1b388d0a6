"""Many samples at once: scatter, capability, drift, outliers, causes that they share, and what known-good
ones teach.

Single parts are judged in ``diagnosis`` and ``verdict``.
"""
