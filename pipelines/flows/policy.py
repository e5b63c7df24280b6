"""The brewery's rule for its dates and its assumptions, as the analysis takes them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.dating.assessment import Assumptions
from analysis.dating.policy import Policy

if TYPE_CHECKING:
    from pipelines.config import Config


def policy_of(config: Config) -> Policy:
    """Return the policy that a configuration states."""
    return Policy(
        share_rejected=config.policy.share_rejected,
        confidence=config.policy.confidence,
        rounding=config.policy.rounding,
        cap_days=config.policy.cap_days,
        cap_days_by_style={style: own.cap_days for style, own in config.policy.styles.items()},
        cap_at_oldest_tasted=config.policy.cap_at_oldest_tasted,
        validated=frozenset(config.safety.validated),
    )


def assumptions_of(config: Config) -> Assumptions:
    """Return what a configuration takes to hold where the tables do not say."""
    return Assumptions(
        before_placing_c=config.storage.before_placing_c,
        shaken_temperature_c=config.oxygen.shaken_temperature_c,
        late_after_minutes=config.oxygen.late_after_minutes,
        asked_since=config.panel.asked_since,
    )
