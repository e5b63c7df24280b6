"""Which code ran."""

from __future__ import annotations

import re

from pipelines.flows.version import code_version


def test_the_version_tells_the_release_and_the_code() -> None:
    """A release number and eight digits of a digest."""
    assert re.fullmatch(r"\d+\.\d+\.\d+\+[0-9a-f]{8}", code_version())
