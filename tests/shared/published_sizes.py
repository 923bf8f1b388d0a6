"""How far IEC 60205, applied to a row of the catalogue, lies from what its maker publishes."""

from __future__ import annotations

from aswound.predict.catalogue import CoreRecord
from aswound.predict.cores import effective_parameters


def published_deviation(core: CoreRecord) -> dict[str, float]:
    """Computed ÷ published − 1 of area, length, volume and constant, as far as the last is known."""
    computed = effective_parameters(core.dimensions)
    pairs = {
        "area": (computed.effective_area, core.published_area),
        "length": (computed.effective_length, core.published_length),
        "volume": (computed.effective_volume, core.published_volume),
        "constant": (computed.core_constant, core.published_constant),
    }
    return {key: value / published - 1 for key, (value, published) in pairs.items() if published is not None}
