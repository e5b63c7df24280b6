"""How package oxygen is charted: where limits come from, the rules in use, the targets."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from analysis.control.rules import RULES, USUAL
from pipelines.config.section import is_texts
from pipelines.readers.contract import PACKAGE_KINDS
from pipelines.readers.names import did_you_mean

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from pipelines.config.section import Section

ASSUMED_PPB = {
    "bottle": 100.0,
    "can": 100.0,
    "plastic bottle": 100.0,
    "keg": 60.0,
    "plastic keg": 60.0,
}
"""Targets to start from, by kind; a cask has none."""
LEAST_PPB, MOST_PPB = 1.0, 10_000.0


@dataclass(frozen=True)
class LimitsPeriod:
    """The lots that limits come from: filled on these days and between them; None leaves it open.

    Without `limits_until` it is the first 20 lots from `limits_from` on.
    """

    limits_from: date | None
    limits_until: date | None

    def settings(self) -> dict[str, Any]:
        """The period as JSON would hold it."""
        return {
            "limits_from": self.limits_from and self.limits_from.isoformat(),
            "limits_until": self.limits_until and self.limits_until.isoformat(),
        }


@dataclass(frozen=True)
class Charts:
    """How package oxygen is charted.

    Attributes:
        period: where the limits of every chart come from that has no period of its own.
        lines: periods of the charts of a line.
        formats: periods of the charts of a format; they count before its line's.
        rules: what is a signal.
    """

    period: LimitsPeriod
    lines: Mapping[str, LimitsPeriod]
    formats: Mapping[str, LimitsPeriod]
    rules: tuple[str, ...]

    def settings(self) -> dict[str, Any]:
        """All of it as JSON would hold it."""
        return {
            **self.period.settings(),
            "lines": {name: period.settings() for name, period in self.lines.items()},
            "formats": {name: period.settings() for name, period in self.formats.items()},
            "rules": list(self.rules),
        }


@dataclass(frozen=True)
class Targets:
    """The package oxygen that no package should be above, ppb, where the site has set it.

    Attributes:
        kinds: by kind of package.
        formats: by format; they count before its kind's.
    """

    kinds: Mapping[str, float]
    formats: Mapping[str, float]

    def of(self, format_: str, kind: str) -> tuple[float | None, bool]:
        """The target of a format, ppb, None without one; and whether it is only assumed."""
        stated = self.formats.get(format_, self.kinds.get(kind))
        return (ASSUMED_PPB.get(kind), True) if stated is None else (stated, False)

    def settings(self) -> dict[str, Any]:
        """All of it as JSON would hold it, with what is assumed."""
        return {**ASSUMED_PPB, **self.kinds, "formats": dict(self.formats)}


def charts_of(section: Section) -> Charts:
    """Read and check `[charts]`."""
    charts = Charts(
        period=_period(section),
        lines=_periods(section.section("lines")),
        formats=_periods(section.section("formats")),
        rules=tuple(section.checked("rules", list(USUAL), _expected_rules(section), _are_rules)),
    )
    section.close()
    return charts


def targets_of(section: Section) -> Targets:
    """Read and check `[targets]`."""
    own = section.section("formats")
    targets = Targets(
        kinds={
            kind: section.number(kind, 0.0, LEAST_PPB, MOST_PPB)
            for kind in PACKAGE_KINDS
            if kind in section.values
        },
        formats={name: own.number(name, 0.0, LEAST_PPB, MOST_PPB) for name in own.values},
    )
    section.asked.extend(PACKAGE_KINDS)
    section.close()
    return targets


def _periods(section: Section) -> dict[str, LimitsPeriod]:
    periods = {}
    for name, own in section.sections().items():
        periods[name] = _period(own)
        own.close()
        if not own.values:
            section.faults.append(f"{own.path} says nothing, expected limits_from or limits_until")
    return periods


def _period(section: Section) -> LimitsPeriod:
    period = LimitsPeriod(section.day("limits_from"), section.day("limits_until"))
    if period.limits_from and period.limits_until and period.limits_until < period.limits_from:
        section.fault("limits_until", "a day not before limits_from")
    return period


def _are_rules(value: object) -> bool:
    return is_texts(value) and isinstance(value, list) and bool(value) and set(value) <= {*RULES}


def _expected_rules(section: Section) -> str:
    stated = section.values.get("rules")
    unknown = [str(r) for r in stated if r not in RULES] if isinstance(stated, list) else []
    near = did_you_mean(unknown[0], RULES) if unknown else ""
    return f"a list with some of {', '.join(RULES)}{near}"
