"""Core shapes and materials: effective parameters, the gap with its fringing field, permeability, the
permeance that one turn sees.

What flux leaves the core between windings is the business of ``field``; named rows come from ``catalogue``.
"""
