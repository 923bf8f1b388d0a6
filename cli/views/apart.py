"""Builds with other layers than designed, as data."""

from __future__ import annotations

from collections.abc import Sequence

from ...predict.production import TippedReadings
from ..documents import shared_records
from . import words


def apart_json(apart: Sequence[TippedReadings], index: int, measure: str) -> list[shared_records.BuildsApart]:
    """What builds with other layers than designed read in one test.

    Parameters
    ----------
    apart : Sequence[TippedReadings], those builds, by kind
    index : int, index of the test
    measure : str, what the test measures

    Returns
    -------
    list[shared_records.BuildsApart]
        One record each: step, winding, layers, share of all builds, 95 % range, and whether their median lies
        outside the range of the builds as designed.
    """
    return [
        shared_records.BuildsApart(
            step=tipped_build.tipping.step + 1,
            winding=tipped_build.tipping.winding,
            designed_layers=tipped_build.tipping.designed,
            layers=tipped_build.tipping.layers,
            share=tipped_build.tipping.share,
            low=words.json_number(float(tipped_build.low[index]), measure),
            high=words.json_number(float(tipped_build.high[index]), measure),
            outside=bool(tipped_build.outside[index]),
        )
        for tipped_build in apart
    ]
