"""Whether two versions of a row say the same, told by a digest of their values.

A digest is worked out where two versions meet, and is not stored: most rows are said once, and a
million digests took as long as a million rows.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

PLACE = ("void", "file", "sheet", "row_number", "row_key", "said_in", "load_id")
_OBJECTS = ("extra", "scores")  # JSON objects, whose order of keys says nothing


def values_of(columns: Mapping[str, str]) -> list[str]:
    """Give the columns of `history.<table>` that hold what a row says, sorted."""
    return sorted(columns.keys() - set(PLACE))


def digest(columns: Mapping[str, str]) -> str:
    """Write the SQL of the digest of a row's values.

    An empty value is left out, so that a column added later changes no digest. Texts are quoted as
    JSON, so that two rows of unlike values never run into the same text.

    Args:
        columns: The columns of `history.<table>` with their types.
    """
    said = ", ".join(f"'{name}=' || {_as_text(name, columns[name])}" for name in values_of(columns))
    return f"md5(concat_ws(',', {said}))"


def _as_text(name: str, kind: str) -> str:
    if name in _OBJECTS:
        pairs = f"map_entries(from_json(nullif({name}, '{{}}'), '\"MAP(VARCHAR, JSON)\"'))"
        pair = "CAST(to_json(pair.key) AS VARCHAR) || ':' || CAST(pair.value AS VARCHAR)"
        return f"array_to_string(list_sort(list_transform({pairs}, lambda pair: {pair})), ',')"
    return f"CAST(to_json({name}) AS VARCHAR)" if kind == "VARCHAR" else f"CAST({name} AS VARCHAR)"
