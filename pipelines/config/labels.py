"""`[labels]`: by which rule, and how far, a date is printed in each market."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from analysis.dating.label import FORMS, RULES

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pipelines.config.section import Section


@dataclass(frozen=True)
class LabelForm:
    """A rule of labels, and how much of a date is printed: day, month or year."""

    rule: str
    form: str


@dataclass(frozen=True)
class Labels:
    """What holds in every market, and what single ones have otherwise."""

    usual: LabelForm
    markets: Mapping[str, LabelForm]

    def of(self, market: str) -> LabelForm:
        """How a date is printed for a market."""
        return self.markets.get(market, self.usual)


def labels_of(section: Section) -> Labels:
    """Read and check `[labels]`; a market takes from it what it leaves out."""
    own = section.section("markets").sections()
    usual = _form(section, LabelForm("plain", "day"))
    markets = {market: _form(values, usual) for market, values in own.items()}
    for closed in (section, *own.values()):
        closed.close()
    return Labels(usual, markets)


def _form(section: Section, usual: LabelForm) -> LabelForm:
    return LabelForm(
        rule=section.choice("rule", usual.rule, tuple(RULES)),
        form=section.choice("form", usual.form, FORMS),
    )
