"""The brewery's rule for its dates, as the analysis takes it."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

from analysis.dating.policy import Policy

if TYPE_CHECKING:
    from pipelines.config import Config


def policy_of(config: Config) -> Policy:
    """Return the policy that a configuration states."""
    return Policy(**asdict(config.policy), validated=frozenset(config.safety.validated))
