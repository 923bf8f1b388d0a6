"""The JSON of ``netlist``."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from .record import json_key


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class NetlistDeviation:
    """One kind of reading."""

    reading: str = json_key(
        "Kind: open impedance, open resistance, short impedance, short resistance, ratio."
    )
    test: str = json_key("The windings driven, shorted or sensed where it is worst.")
    frequency_Hz: float = json_key("Where it is worst (Hz).")
    deviation: float = json_key("Subcircuit over prediction − 1 (relative).")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class NetlistDocument:
    """The predicted transformer as a SPICE subcircuit."""

    document: ClassVar[str] = "netlist"

    design: str = json_key("Title of the design.")
    file: str | None = json_key("Where the netlist was written; null: it is in netlist.")
    netlist: str | None = json_key("The text of the netlist; null where it was written to a file.")
    subcircuits: Sequence[str] = json_key("Names of the subcircuits: nominal, low and high build.")
    deviations: Sequence[NetlistDeviation] = json_key(
        "How far the nominal subcircuit strays from the predicted readings, worst of each kind."
    )
    cautions: Sequence[str] = json_key("What the netlist does not hold, in sentences.")
