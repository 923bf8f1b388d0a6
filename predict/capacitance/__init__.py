"""Capacitance of a build: the electrostatic energy of its layers at their potentials, as one matrix.

It does not know which terminals a test ties together; that, and resonance, are the business of ``circuit``.
"""
