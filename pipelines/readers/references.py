"""Whether what a row names is known, from the store or from this very load.

A lot code alone is enough while the lot was filled into one format; that format is then filled in.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import polars as pl

from pipelines.readers.faults import all_faults, faults_where
from pipelines.readers.files import Mention
from pipelines.readers.names import did_you_mean, listed, maybe_made_a_date

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pipelines.readers.columns import Column, Table

_HINTED = 20  # a nearest name is searched for that many names a column, as it takes its time
_ONE = {
    "beers": "beer",
    "formats": "format",
    "lots": "lot",
    "samples": "sample",
    "assessors": "assessor",
    "routes": "route",
    "meters": "meter",
}
_NAMED_BY = {"meter_checks": "meters"}
# A day in this table may not come before the day of what the row names.
_DAYS = {
    "samples": ("placed_on", "lots", "packaged_on", "before its lot was packaged"),
    "tastings": ("tasted_on", "samples", "pulled_on", "before its sample was pulled"),
}
_DATED = {"lots": (["lot", "format"], "packaged_on"), "samples": (["sample"], "pulled_on")}


@dataclass(frozen=True)
class Known:
    """What the store holds already: the identifiers of its current rows."""

    beers: frozenset[str] = frozenset()
    formats: frozenset[str] = frozenset()
    lots: frozenset[tuple[str, str]] = frozenset()
    samples: frozenset[str] = frozenset()
    routes: frozenset[str] = frozenset()
    assessors: frozenset[str] = frozenset()
    meters: frozenset[str] = frozenset()
    dated: Mapping[str, pl.DataFrame] = field(default_factory=dict)
    """`lots` with lot, format and packaged_on, `samples` with sample and pulled_on."""


@dataclass
class References:
    """What may be named so far; grows table by table as a load is checked."""

    names: dict[str, set[str]]
    lots: set[tuple[str, str]]
    refused: dict[str, set[str]] = field(default_factory=dict)
    refused_lots: set[tuple[str, str]] = field(default_factory=set)
    dated: dict[str, pl.DataFrame] = field(default_factory=dict)

    @classmethod
    def of(cls, known: Known) -> References:
        """Begin with what the store holds."""
        names = {
            kind: set(getattr(known, kind))
            for kind in ("beers", "formats", "samples", "routes", "assessors", "meters")
        }
        names["lots"] = {lot for lot, _ in known.lots}
        return cls(names, set(known.lots), dated=dict(known.dated))

    def add(self, table: Table, typed: pl.DataFrame, good: pl.DataFrame) -> None:
        """Take in a checked table: its good rows can be named, its withdrawn ones no longer."""
        kind = _NAMED_BY.get(table.name, table.name)
        if kind not in self.names:
            return
        name = table.key[0]
        standing = good.filter(~pl.col("void"))
        if kind == "lots":
            taken_in = set(good.select("lot", "format").iter_rows())
            self.lots -= taken_in
            self.lots |= set(standing.select("lot", "format").iter_rows())
            self.names[kind] = {lot for lot, _ in self.lots}
            filled = typed.select("lot", "format").drop_nulls()
            self.refused_lots = set(filled.iter_rows()) - self.lots - taken_in
        elif kind != "meters":
            self.names[kind] -= set(good[name])
        self.names[kind] |= set(standing[name])
        self.refused[kind] = set(typed[name].drop_nulls()) - self.names[kind] - set(good[name])
        if kind in _DATED:
            keys, day = _DATED[kind]
            older = self.dated.get(kind, standing.select(*keys, day).clear())
            self.dated[kind] = pl.concat(
                [standing.select(*keys, day).unique(keys), older.join(good, on=keys, how="anti")]
            )

    def check(self, table: Table, typed: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
        """Check what a table's rows name.

        Args:
            table: The contract.
            typed: Its rows as values.

        Returns:
            The rows with formats filled in, and a fault frame.
        """
        names = {column.name: column for column in table.columns}
        faults = [
            self._unknown(column, typed)
            for column in table.columns
            if column.firm and column.refers
        ]
        if "lot" in names and "format" in names and "format" not in table.key:
            typed, unclear = self._formats(typed, told=names["lot"].refers == "lots")
            faults.append(unclear)
        if table.name in _DAYS and _DAYS[table.name][1] in self.dated:
            faults.append(self._days(table.name, typed))
        return typed, all_faults(faults)

    def _unknown(self, column: Column, typed: pl.DataFrame) -> pl.DataFrame:
        one, known = _ONE[column.refers], self.names[column.refers]
        cells = typed[column.name]
        where = cells.is_not_null() & ~cells.is_in(list(known))
        refused = self.refused.get(column.refers, set())
        unknown = set(cells.filter(where))
        hints = {
            name: did_you_mean(name, known) + maybe_made_a_date(name, known)
            for name in sorted(unknown - refused)[:_HINTED]
        }
        also_refused = pl.col(column.name).is_in(list(refused))
        return faults_where(
            typed,
            where,
            column=column.name,
            value=pl.col(column.name),
            reason=pl.when(also_refused)
            .then(pl.lit(f"its {one} was set aside too"))
            .otherwise(pl.lit(f"unknown {one}")),
            expected=pl.when(also_refused)
            .then(pl.lit(f"this row comes in by itself once the {one} does"))
            .otherwise(
                pl.lit(f"a {one} of the table {column.refers}")
                + pl.col(column.name).replace_strict(hints, default="", return_dtype=pl.String)
            ),
            kind="reference",
        )

    def _formats(self, typed: pl.DataFrame, *, told: bool) -> tuple[pl.DataFrame, pl.DataFrame]:
        """Fill a format in where the lot says which; where it cannot, tell it if asked to.

        A lot's row that was set aside counts too: its format may be the one that was meant.
        """
        pairs = [(*pair, pair in self.lots) for pair in sorted(self.lots | self.refused_lots)]
        schema = {"lot": pl.String, "filled": pl.String, "sound": pl.Boolean}
        by_lot = (
            pl.DataFrame(pairs, schema=schema, orient="row")
            .group_by("lot", maintain_order=True)
            .agg("filled", sound=pl.col("filled").filter("sound"))
        )
        of_lot = typed.select("lot").join(by_lot, on="lot", how="left", maintain_order="left")
        rows = typed.with_columns(of_lot.drop("lot"))
        given, filled, sound = pl.col("format"), pl.col("filled"), pl.col("sound")
        known, choice = sound.list.len() > 0, filled.list.join(", ")
        only = pl.when(known & (filled.list.len() == 1)).then(filled.list.first())
        rows = rows.with_columns(format=pl.coalesce(given, only))
        unclear = (
            (given.is_null(), "lot {} was filled into {}: say which in the column format", choice),
            (~given.is_in(filled), "lot {} was not filled into {}", given),
            (
                given.is_in(filled) & ~given.is_in(sound),
                "lot {} in {} was set aside too",
                given,
            ),
        )
        return rows.drop("filled", "sound"), all_faults(
            faults_where(
                rows,
                rows.select(where=known & where)["where"],
                column="format",
                value=given,
                reason=pl.format(reason, "lot", what),
                expected=choice,
                kind="reference",
            )
            for where, reason, what in (unclear if told else ())
        )

    def _days(self, table: str, typed: pl.DataFrame) -> pl.DataFrame:
        day, named, earliest, reason = _DAYS[table]
        keys, _ = _DATED[named]
        rows = typed.select("row", *keys, day).join(
            self.dated[named], on=keys, how="left", maintain_order="left"
        )
        return faults_where(
            rows,
            rows[day] < rows[earliest],
            column=day,
            value=pl.col(day),
            reason=reason,
            expected=pl.format("a day from {} on", pl.col(earliest).dt.to_string()),
            kind="reference",  # the day of what it names may be the wrong one
        )

    def unknown_names(self, table: Table, good: pl.DataFrame) -> list[Mention]:
        """Names that were taken in although nothing is known of them, said once a sheet."""
        said = []
        for column in table.columns:
            if not column.refers or column.firm:
                continue
            cells = good[column.name]
            unknown = good.filter(
                cells.is_not_null() & ~cells.is_in(list(self.names[column.refers]))
            )
            by_sheet = unknown.group_by("file", "sheet", maintain_order=True).agg(
                pl.col(column.name).unique()
            )
            said += [
                Mention(file, sheet, f"unknown {_ONE[column.refers]}, taken in: {listed(names)}")
                for file, sheet, names in by_sheet.iter_rows()
            ]
        return said
