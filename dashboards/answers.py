"""The pages of answers to complaints, as they were recorded, among the other pages."""

from __future__ import annotations

FOLDER = "complaints"
"""Where they are among the pages."""


def page_file(name: str) -> str:
    """Return where the page of an answer is, from the folder of the pages."""
    return f"{FOLDER}/{name}.html"
