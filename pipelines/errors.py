"""Errors that end a command with a plain sentence.

    PipelineError
    ├── ConfigError   the configuration file is missing or says something unknown
    ├── ReadError     a file cannot be read at all
    ├── StoreError    the database is busy, newer than this code, or damaged
    ├── ComputeError  the workers of `[compute]` cannot be reached or used
    ├── AnswerError   what a person asks cannot be answered as it was typed
    └── DecisionError a date cannot be decided so

The command prints the sentence and exits 1. Anything else is a bug and keeps its traceback.
"""


class PipelineError(Exception):
    """Root of everything that `pipelines` raises on purpose."""


class ConfigError(PipelineError):
    """The configuration is missing, not TOML, or holds an unknown key or a wrong value."""


class ReadError(PipelineError):
    """A file cannot be read at all; faults in single rows are never raised."""


class StoreError(PipelineError):
    """The database cannot be opened, migrated or written."""


class ComputeError(PipelineError):
    """The workers that the configuration names cannot be reached, do not fit, or went away."""


class AnswerError(PipelineError):
    """What a person asks names something unknown, or numbers that cannot be."""


class DecisionError(PipelineError):
    """A date cannot be decided so; the sentence says why, and what would do."""
