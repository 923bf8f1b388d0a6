"""Tests at the bench as a design file says them, for designs of tests with windings P and S."""

from __future__ import annotations

OPEN = """[[test]]
name = "L_P"
measure = "inductance"
drive = "P"
frequency = "{frequency}"
"""
RATIO = """[[test]]
name = "n"
measure = "ratio"
drive = "P"
sense = "S"
frequency = "10 kHz"
"""


def shorted(name: str, frequency: str) -> str:
    """The inductance of P with S shorted."""
    return (
        f'[[test]]\nname = "{name}"\nmeasure = "inductance"\ndrive = "P"\nshort = ["S"]\n'
        f'frequency = "{frequency}"\n'
    )


def resistances(*windings: str) -> str:
    """R_P, R_S ..., at direct current."""
    return "".join(
        f'[[test]]\nname = "R_{winding}"\nmeasure = "resistance"\ndrive = "{winding}"\n'
        for winding in windings
    )
