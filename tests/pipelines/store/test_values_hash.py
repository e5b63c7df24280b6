"""The hash by which a row that was said before is known again."""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING

from pipelines.store.intake import record_load

if TYPE_CHECKING:
    from collections.abc import Callable

    import duckdb
    import polars as pl

    from pipelines.store.intake import Load

NAME = 'Fen "Pale" \\ Größe\n\t\x01'


def test_the_hash_is_of_a_text_that_never_changes(
    store: duckdb.DuckDBPyConnection,
    beers: Callable[..., pl.DataFrame],
    load: Callable[..., Load],
) -> None:
    """Else every row of a store that is in use would look corrected after an upgrade.

    The text is `name=value` for each filled column in the order of their names, texts as JSON, JSON
    objects as their members in order.
    """
    frame = beers({NAME: 4.8, "plain": 5.0}, extra='{"note": "new", "Hops": 3}')
    record_load(store, load({"beers": frame}))
    hashes = dict(store.sql("SELECT beer, values_hash FROM history.beers").fetchall())
    for beer, abv in ((NAME, "4.8"), ("plain", "5.0")):
        text = (
            f"abv_pct={abv},beer={json.dumps(beer, ensure_ascii=False)},"
            'extra="Hops":3,"note":"new",style="pale ale"'
        )
        assert hashes[beer] == hashlib.md5(text.encode(), usedforsecurity=False).hexdigest()
