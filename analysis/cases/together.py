"""Several facts as one piece of evidence: the samples of a lot, say.

    log p(all | lot, storage) = Σ log p(each | lot, storage)

for they are independent once lot and storage are given.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from analysis.cases.evidence import Item
    from analysis.cases.particles import Particles


@dataclass(frozen=True)
class Together:
    """Facts that are told as one.

    Attributes:
        name: what they are called together.
        parts: the facts.
    """

    name: str
    parts: tuple[Item, ...]

    def log_likelihood(self, lots: Particles, account: str) -> NDArray[np.float64]:
        """Return the sum of the parts' logs."""
        logs = (part.log_likelihood(lots, account) for part in self.parts)
        return sum(logs, start=np.zeros((1, 1)))
