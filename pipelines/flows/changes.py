"""What became of stored rows, in words: column by column, old to new."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import polars as pl

from pipelines.readers.contract import TABLES

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pipelines.store.changes import UnconfirmedError

SHOWN = 10
NOTHING = "nothing"
_OBJECTS = ("extra", "scores")  # JSON objects, told cell by cell


def named(table: str, values: Mapping[str, Any]) -> str:
    """What a person calls a row: its key, or what it must hold where no key identifies it."""
    contract = TABLES[table]
    names = contract.key if contract.key and not contract.key_if else ()
    names = names or tuple(column.name for column in contract.columns if column.required)
    filled = [str(values[name]) for name in names if values.get(name) is not None]
    return ", ".join(filled) or "a row"


def differences(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[str]:
    """The columns in which two versions differ: `verdict: accept → reject`.

    Args:
        before: Values by column; JSON objects as text.
        after: Likewise.
    """
    was, is_now = _flat(before), _flat(after)
    return [
        f"{name}: {_shown(was.get(name))} → {_shown(is_now.get(name))}"
        for name in dict.fromkeys([*is_now, *was])
        if was.get(name) != is_now.get(name)
    ]


def filled(values: Mapping[str, Any]) -> list[str]:
    """The columns of a version that are filled: `verdict: accept`."""
    return [f"{name}: {value}" for name, value in _flat(values).items() if value is not None]


def reasons(error: UnconfirmedError) -> dict[str, str]:
    """Why each file waits: `would change 34 of 120 rows of tastings; …` and what takes it in."""
    told = {}
    for (file,), part in error.changed.sort("table_name").group_by("file", maintain_order=True):
        tables = " and ".join(
            f"{row['rows_changed']} of {row['rows_stored']} rows of {row['table_name']}"
            for row in part.rows(named=True)
        )
        quoted = f'"{file}"' if " " in str(file) else file
        told[str(file)] = f"would change {tables}; stalecurve load --confirm {quoted} takes it in"
    return told


def before_and_after(error: UnconfirmedError, file: str) -> list[str]:
    """The first rows that a file would change, a line each, and a count of the rest."""
    mine = error.examples.filter(file=file).head(SHOWN)
    lines = []
    for row in mine.rows(named=True):
        before = json.loads(row["before"])
        what = (
            "withdrawn"
            if row["after"] is None
            else "; ".join(differences(before, json.loads(row["after"])))
        )
        lines.append(f"  {row['table_name']} {named(row['table_name'], before)}: {what}")
    rest = error.changed.filter(pl.col("file") == file)["rows_changed"].sum() - mine.height
    return [*lines, f"  and {rest} more"] if rest else lines


def _flat(values: Mapping[str, Any]) -> dict[str, Any]:
    flat: dict[str, Any] = {}
    for name, value in values.items():
        if name in _OBJECTS:
            flat |= json.loads(value or "{}") if isinstance(value, str) else (value or {})
        else:
            flat[name] = value
    return flat


def _shown(value: object) -> object:
    return NOTHING if value is None else value
