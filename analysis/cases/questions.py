"""What could still be asked, tasted or measured about a complaint."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from analysis.cases.evidence import Item


@dataclass(frozen=True)
class Question:
    """A question with all its answers.

    Attributes:
        name: what to ask for.
        answers: each as the item that it would be; empty: the day it was opened.
        widths: what share of all answers each stands for, as many.
    """

    name: str
    answers: tuple[Item, ...] = ()
    widths: tuple[float, ...] = ()
