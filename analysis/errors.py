"""Errors of the analysis.

AnalysisError
├── InputError        an argument breaks what its docstring asks for
└── NotEstimable      the data cannot answer the question; the text says why
└── NotConverged  the fit did not settle; the text lists what to look at
"""


class AnalysisError(Exception):
    """Root of everything that `analysis` raises on purpose."""


class InputError(AnalysisError):
    """An argument breaks what the docstring asks for."""


class NotEstimable(AnalysisError):  # noqa: N818 - the sentence reads better: "not estimable, because"
    """The data cannot answer the question."""


class NotConverged(NotEstimable):
    """The fit did not settle on an estimate, so there is none."""
