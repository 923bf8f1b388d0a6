"""Predicted against read: deviation, score, limits with guard bands, stages of making, measured sweeps.

It says whether a reading deviates; why it does is the business of ``diagnosis``.
"""
