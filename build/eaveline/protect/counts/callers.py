"""Which dated places lie in a region where calls were played that day.

Exact distance to a speaker is for the group's own papers; what is published uses the region,
so that it is the same whichever of a region's buildings has the speaker.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.private.derive.calendar import playing
from eaveline.protect.buildings.homes import Ints
from eaveline.protect.counts.gate import Gate, region_of


def calls_in_region(
    gate: Gate, dates: pd.Series[pd.Timestamp], region: Ints
) -> npt.NDArray[np.bool_]:
    """Return which places had calls played in their region on their date.

    Parameters
    ----------
    dates
        A date for each place.
    region
        The number of each place's region, or -1.
    """
    near = np.zeros(len(dates), dtype=bool)
    boxes = gate.register.boxes
    speakers = boxes[boxes["calls_from"].notna()]
    homes = region_of(gate, speakers)
    for home, start, end in zip(homes, speakers["calls_from"], speakers["calls_to"], strict=True):
        if home >= 0:
            near |= (region == home) & playing(dates, start, end)
    return near
