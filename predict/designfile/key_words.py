"""The meaning of every key of the design file in words, with an example value.

(meaning, example) or (meaning, example, default in words) by section and key. The keys themselves, what
they take and their defaults are in the reader's own tables (``tables``); ``key_table`` puts both together.
"""

from __future__ import annotations

from collections.abc import Mapping

Words = tuple[str, str] | tuple[str, str, str]

TOP: Mapping[str, Words] = {
    "title": ("What the part is called on every page.", '"Isolated 24 V supply, 30 W"', "the file's name"),
    "catalogue": (
        "Files with cores, wires and materials of your own, next to the design file.",
        '["our-parts.toml"]',
    ),
    "core": ("The core set: the section [core].", "[core]"),
    "bobbin": ("The bobbin: the section [bobbin].", "[bobbin]"),
    "winding": ("One winding: a section [[winding]] for each.", "[[winding]]"),
    "build": ("How it is wound: the section [build].", "[build]"),
    "join": ("Windings joined for tests: a section [[join]] for each.", "[[join]]"),
    "test": ("One bench test: a section [[test]] for each.", "[[test]]", "the usual tests"),
    "bench": ("Meter and set-up: the section [bench].", "[bench]"),
    "spread": ("Tolerances of production and of the models: the section [spread].", "[spread]"),
    "operation": ("How the part is used: the section [operation].", "[operation]"),
    "calibration": ("Factors learned from a known-good sample: written by compare --learn.", "[calibration]"),
}

CORE: Mapping[str, Words] = {
    "shape": ("Core set of the catalogue, by its IEC designation ('aswound cores').", '"ETD 34/17/11"'),
    "dimensions": (
        "A core of your own instead of shape: the section [core.dimensions].",
        "[core.dimensions]",
    ),
    "material": ("Grade of the catalogue ('aswound materials'), or mu_i instead.", '"MnZn 2300"'),
    "mu_i": ("Initial permeability, if no grade of the catalogue fits.", "2300"),
    "mu_i_tolerance": ("Tolerance of the initial permeability.", '"20 %"', "the grade's, else 25 %"),
    "loss": (
        "tan δ of the assembled set on the bench, at every frequency.",
        "0.01",
        "the grade's, else 0.01",
    ),
    "gap": ("Gap in the flux path, in total.", '"0.25 mm"', "0 mm"),
    "gap_tolerance": (
        "Tolerance of the gap.",
        '"0.02 mm"',
        "from how gaps are made; 'aswound guide tolerances'",
    ),
    "gap_legs": (
        "Ground into the centre leg, or a spacer under all legs (half of gap under each).",
        '"spacer"',
    ),
    "gap_at": (
        "Position of the ground gap along the leg: in the middle, or at an end (E against I).",
        '"end"',
    ),
    "gap_angle": (
        "Where the gap of a ring lies, counted as from_angle of a sector is.",
        '"90 deg"',
        "needed with windings on sectors",
    ),
    "al": (
        "Inductance factor of the set at low level and 23 °C; if given, it sets the open inductance.",
        '"480 nH"',
    ),
    "al_tolerance": ("Tolerance of al.", '"5 %"', "from the gap; 'aswound guide tolerances'"),
    "face_gap": ("Residual gap of one pair of mating faces.", '"3 um"', "from what is known of the faces"),
    "stacking_factor": ("Iron in the height of a laminated stack.", "0.95"),
}

DIMENSIONS: Mapping[str, Words] = {
    "form": (
        "Kind of core: E, round, pot, U, toroid, or air: no core. It decides which of the other keys apply.",
        '"round"',
    ),
    "leg_width": ("Centre leg (U: either leg), across the window.", '"12 mm"'),
    "leg_depth": ("Centre leg (U: either leg), along the stack.", '"20 mm"'),
    "leg_diameter": ("Round centre leg.", '"10.8 mm"'),
    "leg_corner": ("Radius of the centre leg's upright edges; half the width: an oval leg.", '"1 mm"'),
    "window_width": ("Centre leg to outer leg (U: leg to leg).", '"8.7 mm"'),
    "window_height": ("Window along the leg, both halves together.", '"24 mm"'),
    "window_diameter": ("Inner diameter of the outer wall or legs.", '"25.6 mm"'),
    "outer_leg": ("Outer leg, across the window.", '"6 mm"'),
    "outer_depth": ("Outer leg, along the stack.", '"20 mm"', "leg_depth"),
    "outer_corner": ("Radius of the outer legs' upright edges.", '"0.5 mm"'),
    "outer_diameter": ("Outer diameter.", '"36 mm"'),
    "inner_diameter": ("Inner diameter of a ring.", '"23 mm"'),
    "height": ("Height of a ring.", '"15 mm"'),
    "length": ("Overall length, along the three legs; of a former for coils in air.", '"34 mm"'),
    "diameter": ("Diameter of a former for coils in air, on which its wall or the wire lies.", '"20 mm"'),
    "room": ("Room for the winding on that former, outwards.", '"10 mm"', "half the greater dimension"),
    "depth": ("Depth of outer legs and yoke.", '"11 mm"'),
    "back": ("Thickness of the yoke.", '"6 mm"'),
    "opening": ("Clear opening between the tips of the outer legs (PQ).", '"12 mm"'),
    "notch": ("Breadth of the yoke's notches at the centre leg (PQ).", '"5 mm"'),
    "flats": ("Across the flats of the square that bounds the outer legs (RM).", '"18 mm"'),
    "waist": ("Breadth of the yoke next to the centre leg (RM).", '"10 mm"'),
    "front": ("From the leg's axis to the open side (EP).", '"4 mm"'),
    "hole_diameter": ("Hole in the centre leg.", '"3 mm"'),
    "slots": ("Openings of a pot's wall.", "2"),
    "slot_angle": ("Full angle of each opening.", '"30 deg"'),
    "effective_area": ("Ae of the data sheet, in place of IEC 60205 from the dimensions.", '"97.1 mm2"'),
    "effective_length": ("le of the data sheet, in the same way.", '"78.6 mm"'),
    "cover": ("Fraction of a turn that lies under the core.", '"60 %"', "from the geometry"),
}

BOBBIN: Mapping[str, Words] = {
    "wall": ("From the centre leg to the first layer; on a ring the coating on all faces.", '"1.1 mm"'),
    "flange": ("Flange at each end of the window, from the core to the winding.", '"1.0 mm"'),
    "permittivity": ("Relative permittivity of the bobbin.", "4.0"),
    "chambers": ("Equal chambers along the leg, or a list of their breadths.", '["8 mm", "6 mm"]'),
    "partition": ("Thickness of each wall between chambers.", '"0.8 mm"'),
    "partition_height": (
        "Height of the partitions above the bobbin's wall; interleave keeps the creepage over their top.",
        '"7 mm"',
        "not given: the creepage is not known",
    ),
    "pins": (
        "Number of pins: checks the pins that windings name, and limits the joints in interleave.",
        "10",
        "not checked",
    ),
}

WINDING: Mapping[str, Words] = {
    "name": ("Unique name, used by steps and tests. No comma, no leading '-'.", '"P"'),
    "wire": ("A table in one of the forms below.", '{ diameter = "0.40 mm", grade = 2 }'),
    "sections": ("How the build steps of this winding are joined.", '"parallel"'),
    "total_turns": ("Total turns, as a checksum for sections in series.", "36"),
    "circuit": (
        "Windings of one circuit need no safety insulation between them.",
        '"primary"',
        "the winding's name",
    ),
    "start": ("Pin of the start.", '"1"'),
    "finish": ("Pin of the finish.", '"3"'),
    "turning": ("Sense in which the shop winds it, seen from the lower flange along the leg.", '"ccw"'),
    "lead_length": ("Length of both lead-outs together.", '"60 mm"'),
    "metal": ("Conductor.", '"aluminium"'),
    "sleeving": ("For the build sheet.", '"PTFE, both ends"'),
    "note": ("For the build sheet.", '"start on the left"'),
}

WIRE: Mapping[str, Words] = {
    "diameter": ("Bare diameter of round wire.", '"0.40 mm"'),
    "grade": ('Insulation of IEC 60317 (1, 2 or 3; with bonding layer "1B", "2B"), or "triple".', "2"),
    "overall": ("Measured diameter over the insulation (litz: over its serving).", '"0.75 mm"'),
    "triple": ("The wire of that overall diameter is triple-insulated.", "true"),
    "strand_grade": ("Enamel of the strands of litz, in place of overall: 1, 2 or 3 of IEC 60317.", "1"),
    "serving": (
        "Thickness of what covers litz (with strand_grade) or a twisted bundle: silk, tape, sleeve.",
        '"0.035 mm"',
    ),
    "awg": ("Gauge number, in place of a diameter.", "26"),
    "litz_strands": ("Number of strands of a litz.", "60"),
    "strand": ("Bare diameter of one strand.", '"0.10 mm"'),
    "foil": ("Thickness of a foil.", '"0.1 mm"'),
    "trace": ("Thickness of a board's copper.", '"70 um"'),
    "width": ("Breadth of the foil or track.", '"16 mm"'),
    "spacing": ("Between neighbouring tracks.", '"0.3 mm"'),
    "in_hand": ("Wires wound together as one turn, side by side.", "3"),
    "lay": (
        "Length of lay: one full twist of the strands of a litz, or of the wires of a twisted bundle.",
        '"20 mm"',
    ),
    "lay_factor": ("In place of lay: length of the strands over length of the wire.", "1.04"),
    "twisted": ("The wires in hand are a twisted bundle.", "true"),
}

BUILD: Mapping[str, Words] = {
    "direction": ("Layers around the leg, or along it (planar boards, pancakes).", '"up"'),
    "margin": ("Margin tape at each end of every layer.", '"3 mm"'),
    "allowance": ("Winding slack across a layer.", '"2 %"'),
    "interlayer": ("Insulation between layers of one step.", '"0.05 mm"'),
    "style": ("How the layers of a step are wound.", '"same_side"'),
    "impregnation": ("What fills the gaps between wires.", '"dipped"'),
    "drawing": ("Number of the drawing, for the build sheet.", '"TX-1042"'),
    "revision": ("Its revision.", '"B"'),
    "note": ("For the build sheet.", '"vacuum varnish"'),
    "tail": ("Wire left at each end for terminating.", '"50 mm"', "50 mm"),
    "reserve": ("Wire and tape cut beyond what is wound.", '"5 %"', "5 %"),
    "processes": (
        'What is done besides winding, in order: do; after "winding" or "core"; time, at, within.',
        '[ { do = "Varnish", time = "30 min", within = "4 h" } ]',
    ),
    "steps": (
        "Winding, tape, spacer and shield, in the order in which they go on.",
        '[ { wind = "P", turns = 18 } ]',
    ),
}

PROCESS: Mapping[str, Words] = {
    "do": ("What is done besides winding, for the build sheet.", '"varnish, vacuum"'),
    "after": ("After winding, or after the core is fitted.", '"winding"'),
    "time": ("How long.", '"4 h"'),
    "at": ("At which temperature.", '"105 degC"'),
    "within": ("How soon after the operation before.", '"1 h"'),
}

WIND: Mapping[str, Words] = {
    "wind": ("The winding that goes on.", '"P"'),
    "turns": ("Whole turns.", "18"),
    "layers": ("Spread the turns evenly over this many layers.", "2", "as many as are needed"),
    "breadth": ("Breadth that the step covers along the leg.", '"12 mm"', "all between the margins"),
    "from_end": ("Start of the layer from the inner face of the flange; replaces the margin.", '"2 mm"'),
    "thickness": (
        "With breadth: the section is a block of uniform current density, whatever its wire.",
        '"3 mm"',
    ),
    "margin": ("Margin of this step, instead of the build's.", '"0 mm"', "the build's"),
    "interlayer": (
        "Insulation between the layers of this step, instead of the build's.",
        '"0.1 mm"',
        "the build's",
    ),
    "style": ("Style of this step, instead of the build's.", '"scramble"', "the build's"),
    "close": ("Wound tight from the start, not spread over the breadth.", "true"),
    "beside": ("Begins at the height of the step before, beside it.", "true"),
    "with": ("Windings that are wound together with this one, turn by turn.", '["B"]'),
    "chamber": ("Chamber of the bobbin, 1 at the lower flange.", "2", "needed on a bobbin with chambers"),
    "leg": ("Leg of a U core.", "2"),
    "sector": ("Arc of a ring that it covers.", '"150 deg"', "all around"),
    "from_angle": ("Where on the ring the arc begins.", '"180 deg"', "0 deg"),
}

TAPE: Mapping[str, Words] = {
    "tape": ("Thickness of one wrap.", '"0.06 mm"'),
    "wraps": ("Number of wraps.", "3"),
    "permittivity": ("Relative permittivity of the tape.", "3.3"),
    "chamber": ("Only in this chamber.", "2", "all chambers"),
    "leg": ("Leg of a U core.", "2"),
}

SPACER: Mapping[str, Words] = {
    "spacer": ("A gap of that size: air, a barrier, a board's core.", '"1.5 mm"'),
    "permittivity": ("Relative permittivity of what fills it.", "4.5"),
    "chamber": ("Only in this chamber.", "2", "all chambers"),
    "leg": ("Leg of a U core.", "2"),
}

SHIELD: Mapping[str, Words] = {
    "shield": ("Thickness of the foil.", '"0.05 mm"'),
    "width": ("Breadth of the foil.", '"16 mm"'),
    "name": ("Name, used for ties and capacitances.", '"E"'),
    "tied": ("What it is tied to: core, or a winding's end.", '"P.start"', "open"),
    "closed": ("Its ends touch: a shorted turn, an error in building.", "true"),
    "metal": ("Conductor.", '"aluminium"'),
    "chamber": ("Only in this chamber.", "2", "all chambers"),
    "leg": ("Leg of a U core.", "2"),
}

JOIN: Mapping[str, Words] = {
    "name": ("Used in tests like a winding.", '"P12"'),
    "series": ("Windings in series, aiding; a leading '-' reverses one.", '["P1", "-P2"]'),
    "parallel": ("Windings in parallel.", '["S1", "S2"]'),
}

TEST: Mapping[str, Words] = {
    "name": ("Unique name, used by the readings file.", '"Lk_P"'),
    "measure": ("What the meter displays.", '"inductance"'),
    "drive": (
        "Winding or join at the meter; a list is in series, a leading '-' reverses one.",
        '["P", "-S"]',
    ),
    "short": ("Windings or joins, each shorted on itself; everything else is open.", '["S"]', "nothing"),
    "sense": ("Winding or join at which the second reading is taken.", '"S"', "nothing"),
    "frequency": (
        "Frequency of the test; not for resistance and resonance.",
        '"100 kHz"',
        "none; required for most",
    ),
    "level": ("RMS voltage that the meter is set to.", '"1 V"'),
    "equivalent": ("Circuit of the display.", '"parallel"', "the bench's"),
    "temperature": ("Temperature of the part.", '"25 degC"', "the bench's; of a resistance 20 °C"),
    "min": ("Lower limit of the specification.", '"580 uH"', "no limit"),
    "max": ("Upper limit of the specification.", '"665 uH"', "no limit"),
    "nominal": ("Middle of the specification, with tolerance, in place of min and max.", '"620 uH"', "none"),
    "tolerance": (
        "Tolerance on either side of nominal: relative, a value, or one for each side.",
        '["-5 %", "+10 %"]',
        "none",
    ),
    "bias": ("Direct current through the driven winding or join.", '"0.5 A"'),
    "tie": ("Ends that are wired together for the test.", '[["P.start", "S.start"]]', "none, core floating"),
}

BENCH: Mapping[str, Words] = {
    "equivalent": ("Circuit of the meter's display.", '"parallel"'),
    "temperature": ("Temperature of the room and the parts.", '"23 degC"'),
    "accuracy": ("Basic accuracy of the meter (k = 2).", '"0.1 %"'),
    "floor_resistance": (
        "Resistance left by the short correction: the error that grows at low impedance.",
        '"2 mohm"',
    ),
    "floor_inductance": ("Inductance left by the short correction.", '"2 nH"'),
    "floor_capacitance": (
        "Capacitance left by the open correction: the error that grows at high impedance.",
        '"0.05 pF"',
    ),
    "resolution": ("Last digit of the display, relative to the reading.", '"0.01 %"'),
    "source_resistance": (
        "Source resistance of the meter, which reduces the level at the part.",
        '"100 ohm"',
    ),
    "short_inductance": ("Inductance of the shorting link.", '"10 nH"'),
    "short_inductance_tolerance": ("Tolerance of the shorting link's inductance.", '"50 %"'),
    "short_resistance": ("Resistance of the shorting link.", '"1 mohm"'),
    "short_resistance_tolerance": ("Tolerance of the shorting link's resistance.", '"50 %"'),
    "lead_inductance": ("Inductance of the leads, left after corrections.", '"20 nH"'),
    "lead_inductance_tolerance": ("Tolerance of the leads' inductance.", '"50 %"'),
    "lead_resistance": ("Resistance of the leads, left after corrections.", '"5 mohm"'),
    "lead_resistance_tolerance": ("Tolerance of the leads' resistance.", '"50 %"'),
}

SPREAD_EXAMPLES: Mapping[str, str] = {
    "al": '"5 %"',
    "mu_i": '"25 %"',
    "gap": '"0.02 mm"',
    "face_gap": '"50 %"',
    "core_area": '"2 %"',
    "wire": '"1 %"',
    "enamel": '"15 %"',
    "tape": '"10 %"',
    "interlayer": '"10 %"',
    "breadth": '"3 %"',
    "centring": '"0.3 mm"',
    "mean_turn": '"2 %"',
    "resistivity": '"1 %"',
    "permittivity": '"10 %"',
    "temperature": '"2 K"',
    "margin": '"0.2 mm"',
    "thickness": '"5 %"',
    "width": '"0.1 mm"',
    "bobbin": '"5 %"',
    "loss": '"30 %"',
    "model_leakage": '"5 %"',
    "model_capacitance": '"15 %"',
    "model_ac_resistance": '"15 %"',
    "model_inductance": '"3 %"',
}
"""Meaning and default of these keys are in the table of ``production.defaults``."""

OPERATION: Mapping[str, Words] = {
    "frequency": (
        "Working frequency, at which interleave weighs alternating-current resistance.",
        '"100 kHz"',
        "none",
    )
}

CALIBRATION: Mapping[str, Words] = {
    "leakage": ("Truth over model for every leakage.", '{ factor = 1.03, uncertainty = "1 %" }', "1"),
    "inductance": (
        "Truth over model for the core's permeance.",
        '{ factor = 0.99, uncertainty = "2 %" }',
        "1",
    ),
    "capacitance": ("Truth over model for every capacitance.", '{ factor = 1.1, uncertainty = "5 %" }', "1"),
    "mean_turn": ("Truth over model for the length of turns.", '{ factor = 1.01, uncertainty = "1 %" }', "1"),
    "own": (
        "Truth over model for one pair of windings or one reading, in addition to the shared factors.",
        '[{ of = "leakage P|S", factor = 1.02, uncertainty = "1 %" }]',
        "none",
    ),
}
