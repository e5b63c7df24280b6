"""Names written another way, and names that may be one person."""

from __future__ import annotations

from datetime import date

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.panel.names import alike_names, known_names

SCHEMA = dict.fromkeys(("assessor", "also_written"), pl.String)


def tastings(*names: str, session: str = "P1", sample: str = "S1") -> pl.DataFrame:
    """Give one glass of a sample to each of these names."""
    return pl.DataFrame(
        {
            "session": session,
            "tasted_on": date(2026, 3, 3),
            "assessor": list(names),
            "sample": sample,
            "code": [f"{100 + i}" for i in range(len(names))],
            "verdict": "accept",
            "scores": None,
        },
        schema_overrides={"assessor": pl.String, "scores": pl.String},
    )


def assessors(*rows: tuple[str, str | None]) -> pl.DataFrame:
    """Write the table assessors: a name, and how else it is written."""
    return pl.DataFrame(list(rows), schema=SCHEMA, orient="row")


def test_a_name_is_resolved_by_what_also_written_says_without_case_and_spaces() -> None:
    """Several ways of writing stand in one cell, apart by semicolons."""
    table = assessors(("Anna Berg", "ab; A. Berg ;Berg"), ("Jo Marsh", None))
    given = tastings("A.BERG", "a b", " berg", "Anna Berg", "Jo Marsh", "jo marsh")
    found = known_names(given, table)
    assert found["assessor"].to_list() == ["Anna Berg"] * 4 + ["Jo Marsh", "jo marsh"]
    assert found.drop("assessor").equals(given.drop("assessor"))


def test_what_two_people_claim_or_is_a_persons_own_name_is_left_alone() -> None:
    """A short name of two people says neither; a name of the table is that person's."""
    table = assessors(("Anna Berg", "AB"), ("Arno Bos", "ab; Jo"), ("Jo", None))
    found = known_names(tastings("AB", "Jo"), table)
    assert found["assessor"].to_list() == ["AB", "Jo"]


def test_a_glass_written_down_under_both_names_is_one_glass() -> None:
    """The same session, sample, code and answer of one person counts once; another answer stays."""
    table = assessors(("Anna Berg", "AB"))
    twice = pl.concat([tastings("Anna Berg"), tastings("AB")])
    assert known_names(twice, table).height == 1
    other = twice.with_columns(verdict=pl.Series(["accept", "reject"]))
    assert known_names(other, table).height == 2


@given(st.lists(st.sampled_from(["ANNA", "anna", "An na", "Jo", "Jon", "x"]), max_size=6))
def test_names_only_ever_become_names_of_the_table(names: list[str]) -> None:
    """Whoever is resolved is somebody in the table, and nobody else changes."""
    found = known_names(tastings(*names), assessors(("Berg", "anna;jo")))["assessor"].to_list()
    for before, after in zip(names, found, strict=True):
        assert after == ("Berg" if before.lower().replace(" ", "") in {"anna", "jo"} else before)


@pytest.mark.parametrize(
    ("one", "other", "why"),
    [
        ("Anna Berg", "anna  berg", "case"),
        ("A07", "A 07", "case"),
        ("Zoë", "Zoe", "case"),
        ("Anna Berg", "Berg, Anna", "order"),
        ("Anna Berg", "A. Berg", "initials"),
        ("Anna Berg", "AB", "initials"),
        ("Anna Berg", "Anna Burg", "spelling"),
        ("Mårten", "Maarten", "spelling"),
        ("A01", "A02", None),
        ("Taster 1", "Taster 11", None),
        ("Jan", "Jon", None),
        ("Anna Berg", "Arno Bos", None),
        ("Anna Berg", "Bea Berg", None),
    ],
)
def test_names_that_may_be_one_person_are_pointed_out(
    one: str, other: str, why: str | None
) -> None:
    """Case, spaces, signs, order, initials and a letter; never figures, never short first names."""
    found = alike_names(tastings(other), assessors((one, None)))
    assert found.rows() == ([] if why is None else [(one, other, why)])


def test_two_people_of_the_table_are_two_unless_they_differ_in_case_alone() -> None:
    """Who has a row each was declared two people; a01 beside A01 is asked about all the same."""
    assert alike_names(tastings(), assessors(("Anna Berg", None), ("A. Berg", None))).is_empty()
    found = alike_names(tastings(), assessors(("A01", None), ("a01", None)))
    assert found["why"].to_list() == ["case"]


def test_who_tasted_side_by_side_are_two_people() -> None:
    """Three samples of one session in both names: nobody is there twice."""
    there = [tastings("Anna Berg", "Anna Burg", sample=f"S{i}") for i in range(3)]
    assert alike_names(pl.concat(there[:2]), assessors()).height == 1
    assert alike_names(pl.concat(there), assessors()).is_empty()
