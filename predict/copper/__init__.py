"""Resistance of the conductors: direct-current resistance, and what eddy currents in the local field add to
resistance and take from inductance.

It takes layers and fields as given; how windings are connected is the business of ``circuit``.
"""
