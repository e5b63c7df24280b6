"""The configuration of a brewery: one TOML file, checked whole before anything runs."""

from __future__ import annotations

from pipelines.config.load import DEFAULT_QUESTION, default_config, load_config
from pipelines.config.records import Config

__all__ = ["DEFAULT_QUESTION", "Config", "default_config", "load_config"]
