"""A design of two windings, for tests of what holds of every design: a command takes a third of the time that
it takes on a sample."""

from __future__ import annotations

SMALL = """
title = "Two windings"
[core]
shape = "E 25/13/7"
material = "MnZn 2300"
gap = "0.3 mm"
[bobbin]
wall = "0.8 mm"
flange = "0.8 mm"
[[winding]]
name = "P"
wire = { diameter = "0.3 mm", grade = 2 }
[[winding]]
name = "S"
wire = { diameter = "0.5 mm", grade = 2 }
[build]
steps = [{ wind = "P", turns = 30 }, { tape = "0.06 mm", wraps = 3 }, { wind = "S", turns = 9 }]
[[test]]
name = "L_P"
measure = "inductance"
drive = "P"
frequency = "10 kHz"
[[test]]
name = "n"
measure = "ratio"
drive = "P"
sense = "S"
frequency = "10 kHz"
"""
SMALL_READINGS = "sample,test,reading\nA1,L_P,218 uH\nA1,n,3.34\nA2,L_P,170 uH\nA2,n,3.34\n"
"""Two parts: one as drawn, one whose core is not."""
