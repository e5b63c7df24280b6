"""The brewery's rule for its dates and its assumptions, as the analysis takes them."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

from analysis.dating.assessment import Assumptions
from analysis.dating.policy import Policy

if TYPE_CHECKING:
    from pipelines.config import Config


def policy_of(config: Config) -> Policy:
    """Return the policy that a configuration states."""
    return Policy(**asdict(config.policy), validated=frozenset(config.safety.validated))


def assumptions_of(config: Config) -> Assumptions:
    """Return what a configuration takes to hold where the tables do not say."""
    return Assumptions(
        before_placing_c=config.storage.before_placing_c,
        shaken_temperature_c=config.oxygen.shaken_temperature_c,
        late_after_minutes=config.oxygen.late_after_minutes,
        asked_since=config.panel.asked_since,
        taste_within_days=config.panel.taste_within_days,
    )
