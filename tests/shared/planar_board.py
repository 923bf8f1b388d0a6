"""Planar transformers, of eight etched layers in thirteen steps and of two layers, for tests of boards."""

from __future__ import annotations

from bench_tests import OPEN, RATIO, resistances, shorted

BOARD = """
title = "Planar 48 V to 12 V"
[core]
shape = "E 32/6/20"
material = "MnZn 2300"
[bobbin]
wall = "0.35 mm"
flange = "0.3 mm"
[[winding]]
name = "P"
sections = "series"
wire = { trace = "105 um", width = "2.4 mm", spacing = "0.4 mm" }
start = "A"
finish = "B"
[[winding]]
name = "S"
sections = "parallel"
wire = { trace = "105 um", width = "7.9 mm", spacing = "0.4 mm" }
start = "C"
finish = "D"
[build]
direction = "up"
margin = "0.35 mm"
interlayer = "0.15 mm"
steps = [
  { wind = "S", turns = 1 },
  { spacer = "0.2 mm", permittivity = 4.5 },
  { wind = "P", turns = 3 },
  { spacer = "0.2 mm", permittivity = 4.5 },
  { wind = "S", turns = 1 },
  { spacer = "0.2 mm", permittivity = 4.5 },
  { wind = "P", turns = 6 },
  { spacer = "0.2 mm", permittivity = 4.5 },
  { wind = "S", turns = 1 },
  { spacer = "0.2 mm", permittivity = 4.5 },
  { wind = "P", turns = 3 },
  { spacer = "0.25 mm", permittivity = 4.5 },
  { wind = "S", turns = 1 },
]
"""
BOARD += OPEN.format(frequency="10 kHz") + shorted("Lk_P", "200 kHz")
BOARD += """[[test]]
name = "Rac_P"
measure = "ac_resistance"
drive = "P"
short = ["S"]
frequency = "200 kHz"
"""
BOARD += RATIO
BOARD += """[[test]]
name = "C_PS"
measure = "capacitance"
drive = "P"
sense = "S"
frequency = "100 kHz"
"""
BOARD += resistances("P", "S")
BOARD += """[bench]
short_inductance = "3 nH"
"""


def two_layers(width: str, turns: int) -> str:
    """Four turns below a secondary of so many, its tracks that wide; without tests."""
    return f"""
[core]
shape = "E 22/6/16 + PLT"
material = "MnZn 3000"
[bobbin]
wall = "0.4 mm"
flange = "0.3 mm"
[[winding]]
name = "P"
wire = {{ trace = "70 um", width = "1.0 mm", spacing = "0.2 mm" }}
[[winding]]
name = "S"
wire = {{ trace = "70 um", width = "{width}", spacing = "0.2 mm" }}
[build]
direction = "up"
steps = [
  {{ wind = "P", turns = 4 }},
  {{ spacer = "0.4 mm", permittivity = 4.4 }},
  {{ wind = "S", turns = {turns} }},
]
"""
