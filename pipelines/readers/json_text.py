"""JSON texts built column by column, so that no row is ever visited on its own."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import polars as pl

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

# A struct with one nameless field encodes as {"":…}: what stands between is the value as JSON.
_BEFORE, _AFTER = len('{"":'), len("}")


def json_value(value: pl.Expr) -> pl.Expr:
    """One value as JSON text; null stays null."""
    encoded = pl.struct(value.alias("")).struct.json_encode()
    inner = encoded.str.slice(_BEFORE).str.head(-_AFTER)
    return pl.when(value.is_not_null()).then(inner)


def json_array(values: Sequence[pl.Expr]) -> pl.Expr:
    """The values of a row as a JSON array; missing ones are null."""
    items = pl.concat_str([json_value(value).fill_null("null") for value in values], separator=",")
    return pl.concat_str([pl.lit("["), items, pl.lit("]")])


def json_object(values: Mapping[str, pl.Expr]) -> pl.Expr:
    """The filled values of a row as a JSON object under their names; `{}` if there are none."""
    if not values:
        return pl.lit("{}")
    members = [
        pl.lit(json.dumps(name, ensure_ascii=False) + ":") + json_value(value)
        for name, value in values.items()
    ]
    joined = pl.concat_str(members, separator=",", ignore_nulls=True)
    return pl.concat_str([pl.lit("{"), joined, pl.lit("}")])
