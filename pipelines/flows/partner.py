"""Write the pages for a partner for whom beers are brewed, into a folder of their own."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import polars as pl

from dashboards.build_partner import build_partner
from pipelines.errors import StoreError
from pipelines.flows.publish import prepare
from pipelines.readers.names import did_you_mean
from pipelines.store.connect import need_store, open_store
from pipelines.store.fetch import fetch
from pipelines.store.migrate import migrate

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from pipelines.config import Config


def publish_partner(
    config: Config, owner: str, folder: Path | None, say: Callable[[str], None]
) -> Path:
    """Write the pages of the beers that are brewed for one owner, and return their folder.

    Args:
        config: The configuration.
        owner: As the table beers has it.
        folder: Where to; None: a folder named after the owner beside the configuration.
        say: Takes what happened.

    Raises:
        StoreError: There is no database yet, no beer is brewed for that owner, or the folder is
            that of the brewery's own pages.
        DashboardError: The folder holds something else, or cannot be written.
    """
    to = folder or config.folder / _name(owner)
    whole, own = to.resolve(), config.paths.pages.resolve()
    if whole == own or own in whole.parents or whole in own.parents:
        message = f"{to.name} is where the brewery's own pages are: name another folder"
        raise StoreError(message)
    need_store(config.paths.database)
    with open_store(config.paths.database) as connection:
        migrate(connection)
        beers = fetch(connection, "beers").select("beer", "owner").drop_nulls()
    theirs = beers.filter(pl.col("owner") == owner)["beer"].sort().to_list()
    if not theirs:
        raise StoreError(_unknown(owner, beers["owner"].unique().sort().to_list()))
    prepare(config, say)
    written = build_partner(config.paths.database, to, owner, theirs)
    say(f"{len(written)} files for {owner} written, of {', '.join(theirs)} and no other beer")
    return to


def _name(owner: str) -> str:
    return f"pages-for-{re.sub(r'[^a-z0-9]+', '-', owner.lower()).strip('-') or 'partner'}"


def _unknown(owner: str, known: list[str]) -> str:
    if not known:
        return (
            f"no beer is brewed for {owner}, nor for anybody else: the column owner of the table "
            "beers says for whom"
        )
    return (
        f"no beer is brewed for {owner}; there are beers for {', '.join(known)}"
        f"{did_you_mean(owner, known)}"
    )
