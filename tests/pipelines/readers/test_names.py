"""Names as people type them."""

from __future__ import annotations

import pytest

from pipelines.readers.names import did_you_mean, fold, listed


@pytest.mark.parametrize("written", ["storage_temp_c", "Storage Temp C", " STORAGE\ttemp_C "])
def test_fold(written: str) -> None:
    """Case, spaces and underscores do not matter."""
    assert fold(written) == "storagetempc"


@pytest.mark.parametrize(
    ("name", "hint"),
    [("Packged on", ": did you mean packaged_on?"), ("12", ": did you mean 0012?"), ("zzz", "")],
)
def test_did_you_mean(name: str, hint: str) -> None:
    """A hint is given where a known name is near."""
    assert did_you_mean(name, ["lot", "packaged_on", "0012"]) == hint


def test_listed() -> None:
    """A long list of names ends with how many more there are."""
    assert listed(["b", "a"]) == "a, b"
    assert listed("abcdef", shown=4) == "a, b, c, d and 2 more"
