"""How far honest production strays: tolerances, random builds, what drives each reading, and what known-
good samples have taught.

The readings of each build come from ``circuit``; uncertainty of the meter is the business of
``compare.meter``.
"""
