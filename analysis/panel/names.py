"""Who is who on the panel: names written another way, and names that may be one person.

`also_written` of the table assessors is the panel leader's word that two names are one person, and
the only thing that joins them. What merely looks alike is pointed out and never joined.
"""

from __future__ import annotations

import re
import unicodedata
from difflib import SequenceMatcher
from itertools import combinations
from typing import TYPE_CHECKING

import polars as pl

if TYPE_CHECKING:
    from collections.abc import Iterable

_GLASS = ("session", "assessor", "sample", "code")
_ALIKE = 0.8  # one letter in five
_LONG_ENOUGH = 5  # letters; Jan and Jon are two people
_TOGETHER = 3  # samples that both tasted in one session: nobody is there twice
_SCHEMA = dict.fromkeys(("assessor", "other", "why"), pl.String)


def known_names(tastings: pl.DataFrame, assessors: pl.DataFrame) -> pl.DataFrame:
    """Write every assessor as the table assessors does, where `also_written` says who it is.

    Args:
        tastings: any frame with session, assessor, sample, code.
        assessors: assessor, also_written (several names separated by `;`).

    Returns:
        The tastings, `assessor` replaced where its name, without regard to case and spaces, is
        another writing of exactly one assessor and no assessor's own name. A glass that then
        stands there twice with the same answer is one glass.
    """
    own = set(assessors["assessor"])
    claimed = (
        assessors.select("assessor", written=pl.col("also_written").str.split(";"))
        .explode("written")
        .drop_nulls("written")
        .with_columns(written=_folded(pl.col("written")))
        .filter(pl.col("written") != "")
        .unique()
        .group_by("written")
        .agg(pl.col("assessor").sort())
        .filter(pl.col("assessor").list.len() == 1)
        .select("written", meant=pl.col("assessor").list.first())
    )
    answers = [name for name in ("verdict", "scores") if name in tastings.columns]
    return (
        tastings.with_columns(written=_folded(pl.col("assessor")))
        .join(claimed, on="written", how="left", maintain_order="left")
        .with_columns(
            assessor=pl.when(pl.col("assessor").is_in(sorted(own)))
            .then("assessor")
            .otherwise(pl.coalesce("meant", "assessor"))
        )
        .select(tastings.columns)
        .unique([*_GLASS, *answers], keep="first", maintain_order=True)
    )


def _folded(name: pl.Expr) -> pl.Expr:
    return name.str.replace_all(r"\s", "").str.to_lowercase()


def alike_names(tastings: pl.DataFrame, assessors: pl.DataFrame) -> pl.DataFrame:
    """Find names that may be one person written two ways, which nothing settles.

    Two rows of the table assessors are two people unless they differ in case, spaces and signs
    alone. So are two who tasted the same three samples of a session.

    Args:
        tastings: session, assessor, sample; names as `known_names` leaves them.
        assessors: assessor.

    Returns:
        assessor (a name of the table, if one is), other, why (case, order, initials, spelling);
        sorted by both names.
    """
    listed = set(assessors["assessor"])
    names = sorted(listed | set(tastings["assessor"]))
    together = _together(tastings)
    rows = []
    for pair in combinations(names, 2):
        why = _likeness(*pair)
        declared = listed.issuperset(pair) or frozenset(pair) in together
        if why is None or (declared and why != "case"):
            continue
        first, second = sorted(pair, key=lambda name: (name not in listed, -len(name), name))
        rows.append((first, second, why))
    return pl.DataFrame(rows, schema=_SCHEMA, orient="row").sort("assessor", "other")


def _together(tastings: pl.DataFrame) -> set[frozenset[str]]:
    glasses = tastings.select("session", "sample", "assessor").unique()
    pairs = (
        glasses.join(glasses, on=["session", "sample"], suffix="_other")
        .filter(pl.col("assessor") < pl.col("assessor_other"))
        .group_by("session", "assessor", "assessor_other")
        .len()
        .filter(pl.col("len") >= _TOGETHER)
    )
    return {
        frozenset(pair) for pair in pairs.select("assessor", "assessor_other").unique().iter_rows()
    }


def _likeness(one: str, other: str) -> str | None:
    """Say in what two names differ, if so little that they may be one."""
    words, others = _words(one), _words(other)
    plain, other_plain = "".join(words), "".join(others)
    if plain == other_plain:
        return "case"
    if sorted(words) == sorted(others):
        return "order"
    if _digits(plain) != _digits(other_plain):
        return None  # A01 and A02 are two people
    if _shortened(words, others) or _shortened(others, words):
        return "initials"
    letters = min(len(plain), len(other_plain))
    if letters >= _LONG_ENOUGH and SequenceMatcher(None, plain, other_plain).ratio() >= _ALIKE:
        return "spelling"
    return None


def _words(name: str) -> list[str]:
    plain = "".join(c for c in unicodedata.normalize("NFKD", name) if not unicodedata.combining(c))
    return re.findall(r"[^\W_]+", plain.casefold())


def _digits(name: str) -> str:
    return re.sub(r"\D", "", name)


def _shortened(short: Iterable[str], whole: list[str]) -> bool:
    """Tell whether a name is another with some words cut to their first letter: A. Berg, AB."""
    short = list(short)
    if len(whole) < 2 or not short:  # noqa: PLR2004 - a single word has no initials
        return False
    if len(short) == 1:
        return short[0] == "".join(word[0] for word in whole)
    return len(short) == len(whole) and all(
        a == b or (len(a) == 1 and b.startswith(a)) for a, b in zip(short, whole, strict=True)
    )
