"""How far normal production strays: tolerances, random builds, what drives each reading, and what known-good
samples have taught.

The readings of each build come from ``circuit``; the uncertainty of the meter is in ``compare.meter``.
"""

from .build_height import height_cautions
from .calibration import REPLACES, Factor, calibrated
from .common_parts import shares_of
from .defaults import TABLE, bound_text, deviation
from .drivers import Driver
from .frequency_sweep import (
    QUANTITIES,
    RATIO_QUANTITIES,
    Resonance,
    Sweep,
    crossings,
    frequencies_between,
    sweep,
    swept_quantities,
)
from .monte_carlo import (
    BUILDS,
    FEWEST,
    HIGH,
    LOW,
    RANGE_END,
    ProductionSpread,
    normal_draws,
    random_builds,
    share_as_drawn,
    spread,
)
from .own_errors import SHARED, ReadingError, reading_errors, replaced
from .parameter import Parameter, stated_or
from .response_surface import steps_as_designed
from .tipping import (
    TippedReadings,
    Tipping,
    as_designed,
    layer_counts,
    tipping_cautions,
    tippings,
    told_once,
)
from .tolerances import model_leakage_error, parameters

__all__ = [
    "BUILDS",
    "FEWEST",
    "HIGH",
    "LOW",
    "QUANTITIES",
    "RANGE_END",
    "RATIO_QUANTITIES",
    "REPLACES",
    "SHARED",
    "TABLE",
    "Driver",
    "Factor",
    "Parameter",
    "ProductionSpread",
    "ReadingError",
    "Resonance",
    "Sweep",
    "TippedReadings",
    "Tipping",
    "as_designed",
    "bound_text",
    "calibrated",
    "crossings",
    "deviation",
    "frequencies_between",
    "height_cautions",
    "layer_counts",
    "model_leakage_error",
    "normal_draws",
    "parameters",
    "random_builds",
    "reading_errors",
    "replaced",
    "share_as_drawn",
    "shares_of",
    "spread",
    "stated_or",
    "steps_as_designed",
    "sweep",
    "swept_quantities",
    "tipping_cautions",
    "tippings",
    "told_once",
]
