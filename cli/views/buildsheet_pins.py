"""The pins of the bobbin with the windings' starts and finishes: words and a drawing."""

from __future__ import annotations

from ...predict.design import Design
from .svg_sheet import INK, fixed, label, svg_document

ABREAST = 5
"""Pins in one row of the drawing."""
CELL, LINE, SIZE = 17.5, 4.0, 3.55
"""Width of a pin's place, height of a line, height of its letters (mm; 9 pt are 3.18 mm, and a column on
Letter paper shrinks the drawing to 90 %)."""


def pins_of(design: Design) -> dict[str, list[str]]:
    """Of every pin the ends there, in words: "P start"; the bobbin's other pins, where it is known how many
    there are and pins are numbers, with none."""
    ends_by_pin: dict[str, list[str]] = {}
    for winding in design.windings:
        for pin, word in ((winding.start, "start"), (winding.finish, "finish")):
            if pin:
                ends_by_pin.setdefault(pin, []).append(f"{winding.name} {word}")
    count = design.bobbin.pins
    if count is not None and all(pin.isdecimal() and 1 <= int(pin) <= count for pin in ends_by_pin):
        return {str(number): ends_by_pin.get(str(number), []) for number in range(1, count + 1)}
    return dict(sorted(ends_by_pin.items(), key=lambda item: (len(item[0]), item[0])))


def pins_note(design: Design, *, drawn: bool = True) -> str:
    """What the pin drawing shows, and which ends have no pin.

    Parameters
    ----------
    design : Design
    drawn : bool, optional, whether there is a drawing
    """
    pins = pins_of(design)
    free = [
        f"{winding.name} {word}"
        for winding in design.windings
        for pin, word in ((winding.start, "start"), (winding.finish, "finish"))
        if not pin
    ]
    text = "A dot marks a start. Pins are in order of number, not of position." if pins and drawn else ""
    if free:
        text += f"{' ' if text else ''}No pin in the file: {', '.join(free)}."
    return text


def pins_svg(design: Design) -> str:
    """Every pin as a ring with its name, and under it the ends there; "" where the file names none."""
    pins = pins_of(design)
    if not any(pins.values()):
        return ""
    body = []
    names = list(pins)
    top = 1.0
    for begin in range(0, len(names), ABREAST):
        row = names[begin : begin + ABREAST]
        for index, pin in enumerate(row):
            x = (index + 0.5) * CELL
            started = any(end.endswith(" start") for end in pins[pin])
            body.append(
                f'<circle cx="{fixed(x)}" cy="{fixed(top + 3.2)}" r="3" fill="none" stroke="{INK}" '
                'stroke-width=".3"/>'
            )
            body.append(label(x, top + 4.4, pin, anchor="middle", size=SIZE))
            if started:
                body.append(f'<circle cx="{fixed(x + 4.2)}" cy="{fixed(top + 1.2)}" r="0.9" fill="{INK}"/>')
            for line, end in enumerate(pins[pin] or ["free"], 1):
                body.append(label(x, top + 6.2 + LINE * line, end, anchor="middle", size=SIZE))
        top += 8.0 + LINE * max(max(len(pins[pin]), 1) for pin in row)
    wide = min(len(names), ABREAST) * CELL
    told = "; ".join(f"pin {pin}: {', '.join(ends) or 'free'}" for pin, ends in pins.items())
    return svg_document((wide, top), "Pins", told, body)
