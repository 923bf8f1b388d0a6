"""A design with two windings wound together, without tests: each file adds those that it needs."""

from __future__ import annotations

TWIN = """title = "Half-bridge, two secondaries wound together"
[core]
shape = "PQ 26/25"
material = "MnZn 3000"
gap = "0.10 mm"
[bobbin]
wall = "1.0 mm"
flange = "1.0 mm"
[[winding]]
name = "P"
wire = { diameter = "0.50 mm", grade = 2 }
[[winding]]
name = "S1"
wire = { diameter = "0.71 mm", overall = "0.90 mm", in_hand = 2 }
[[winding]]
name = "S2"
wire = { diameter = "0.71 mm", overall = "0.90 mm", in_hand = 2 }
[build]
steps = [
  { wind = "P", turns = 12 },
  { tape = "0.06 mm", wraps = 3 },
  { wind = "S1", turns = 3, with = ["S2"] },
  { tape = "0.06 mm", wraps = 3 },
  { wind = "P", turns = 12 },
]
"""
