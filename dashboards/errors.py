"""Errors that end the making of pages with a plain sentence.

    DashboardError
    ├── ResultsError   the database cannot be read, or publishes no results
    ├── FolderError    the folder for the pages holds something else, or cannot be written
    └── PdfError       what makes a PDF is not on this machine

Anything else is a bug and keeps its traceback.
"""


class DashboardError(Exception):
    """Root of everything that `dashboards` raises on purpose."""


class ResultsError(DashboardError):
    """The database is missing, busy, or has no `published` views."""


class FolderError(DashboardError):
    """The folder for the pages holds files that are no pages of ours, or cannot be written."""


class PdfError(DashboardError):
    """A library of the system that sets the type of a PDF is missing."""
