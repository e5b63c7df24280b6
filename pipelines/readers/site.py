"""What a site does otherwise than the contract: its headings, its words, its attributes."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence


@dataclass(frozen=True)
class Attribute:
    """A scored descriptor of ageing.

    Attributes:
        low: The lowest score of its scale.
        high: The highest score of its scale.
        worse: Which end of the scale is the worse one, "high" or "low".
        cut_off: The score at which the beer's life ends.
    """

    low: float
    high: float
    worse: str
    cut_off: float


@dataclass(frozen=True)
class Site:
    """How one brewery writes its tables.

    Attributes:
        columns: For each table, the site's heading to the contract's column.
        words: For each word of a closed list (yes and no too), the site's own words.
        attributes: The scored attributes that `tastings` has columns for.
    """

    columns: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    words: Mapping[str, Sequence[str]] = field(default_factory=dict)
    attributes: Mapping[str, Attribute] = field(default_factory=dict)
