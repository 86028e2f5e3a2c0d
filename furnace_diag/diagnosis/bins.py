"""Readings in coarse bins, so that furnaces can be held against one another by what they would show."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

# on the scale of asinh, about a factor of 1.35 each; float16 reaches 65504, which is 39 bins from the middle
NEVER_BIN, MIDDLE_BIN, OPEN_BIN, BINS = 1, 43, 85, 87


@cache
def _bin_of_bits() -> NDArray[np.int16]:
    """The bin of each float16, by its bits."""
    values = np.arange(2**16, dtype=np.uint16).view(np.float16).astype(float)
    bins = MIDDLE_BIN + np.round(np.arcsinh(np.where(np.isfinite(values), values, 0)) / 0.3)
    return np.where(np.isnan(values), NEVER_BIN, np.where(np.isinf(values), OPEN_BIN, bins)).astype(np.int16)


def bin_of(values: NDArray[np.float16]) -> NDArray[np.int16]:
    """The bin of each reading; never (nan) and open (inf) have bins of their own."""
    return np.asarray(_bin_of_bits()[values.view(np.uint16)])
