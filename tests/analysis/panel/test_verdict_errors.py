"""False alarms, misses and attendance, counted by hand."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest
from scipy import stats

from analysis.panel.attendance import attendance
from analysis.panel.verdict_errors import exact_interval, verdict_errors


def poured(*glasses: tuple[str, str, str, str, bool | None]) -> pl.DataFrame:
    """Pour glasses: session, assessor, sample, role, rejected."""
    return pl.DataFrame(
        list(glasses),
        schema={
            **dict.fromkeys(("session", "assessor", "sample", "role"), pl.String),
            "rejected": pl.Boolean,
        },
        orient="row",
    )


def of(assessor: str, frame: pl.DataFrame) -> dict[str, object]:
    """Give one assessor's row."""
    return frame.row(by_predicate=pl.col("assessor") == assessor, named=True)


def panel(role: str, others: str, own: str, sessions: int = 1) -> pl.DataFrame:
    """Pour a sample to A and to others, who reject (x), accept (o) or are not sure (?)."""
    answers = {"x": True, "o": False, "?": None}
    rows = []
    for session in (f"P{number}" for number in range(sessions)):
        rows += [(session, "A", "S", role, answers[answer]) for answer in own]
        rows += [(session, f"B{i}", "S", role, answers[o]) for i, o in enumerate(others)]
    return poured(*rows)


@pytest.mark.parametrize("wrong", [0, 1, 4, 30])
def test_the_interval_is_the_exact_one(wrong: int) -> None:
    """Clopper and Pearson's bounds are where a tail of the binomial is 5 %, as scipy has them."""
    lower, upper = exact_interval(np.array([wrong]), np.array([30]))
    reference = stats.binomtest(wrong, 30).proportion_ci(0.90, method="exact")
    assert (lower[0], upper[0]) == pytest.approx((reference.low, reference.high), abs=1e-9)


def test_the_interval_holds_the_share_at_least_nine_times_in_ten() -> None:
    """Over every outcome of 40 glasses, for shares from 2 to 60 %, by the binomial itself."""
    wrong = np.arange(41)
    lower, upper = exact_interval(wrong, np.full(41, 40))
    for share in np.linspace(0.02, 0.60, 30):
        held = (lower <= share) & (share <= upper)
        assert stats.binom.pmf(wrong, 40, share)[held].sum() >= 0.90


def test_false_alarms_are_rejections_of_blind_fresh_beer() -> None:
    """Two of twelve; a glass without an answer does not count."""
    found = of("A", verdict_errors(panel("fresh", "ooo", "xx" + 10 * "o" + "?")))
    assert (found["fresh_rejected"], found["fresh_tasted"]) == (2, 12)
    assert found["false_alarms"] == pytest.approx(1 / 6)
    assert found["misses"] is None


def test_a_fresh_control_that_half_of_the_others_rejected_counts_for_nobody() -> None:
    """It was no fresh beer: suspect the sample, not the people."""
    found = verdict_errors(panel("fresh", "xxoo", "x", sessions=12))
    assert of("A", found)["fresh_tasted"] == 0
    kept = of("A", verdict_errors(panel("fresh", "xooo", "x", sessions=12)))
    assert (kept["fresh_rejected"], kept["fresh_tasted"]) == (12, 12)


@pytest.mark.parametrize(
    ("role", "others", "counts"),
    [
        ("spiked", "", True),
        ("aged", "xxxxo", True),
        ("aged", "xxxoo", False),
        ("aged", "xxxx", False),
        ("returned", "xxxxx", False),
    ],
)
def test_misses_are_acceptances_of_beer_known_to_be_aged(
    role: str, others: str, *, counts: bool
) -> None:
    """Spiked, or aged and rejected by four in five of five others or more."""
    found = of("A", verdict_errors(panel(role, others, "o", sessions=10)))
    assert found["aged_tasted"] == (10 if counts else 0)
    assert found["misses"] == (1.0 if counts else None)


def test_ones_own_glasses_are_no_proof_against_oneself() -> None:
    """Four others who reject are too few, however often one rejects too."""
    found = of("A", verdict_errors(panel("aged", "xxxx", "xx")))
    assert found["aged_tasted"] == 0


def test_fewer_than_ten_glasses_give_counts_and_no_share() -> None:
    """Nine are too few to say."""
    found = of("A", verdict_errors(panel("fresh", "ooo", 9 * "o")))
    assert found["fresh_tasted"] == 9
    assert found["false_alarms"] is found["false_alarms_lower"] is None


def test_nobody_has_no_errors() -> None:
    """A brewery without tastings has an empty table with its columns."""
    assert verdict_errors(poured()).is_empty()


def session(number: int) -> date:
    """Give the day of a weekly session."""
    return date(2026, 1, 6) + timedelta(weeks=number)


def came(**weeks: list[int]) -> pl.DataFrame:
    """Give the sessions that each assessor came to."""
    rows = [(f"P{w}", session(w), name) for name, came_in in weeks.items() for w in came_in]
    return pl.DataFrame(
        rows,
        schema={"session": pl.String, "tasted_on": pl.Date, "assessor": pl.String},
        orient="row",
    )


def listed(*rows: tuple[str, date | None, date | None]) -> pl.DataFrame:
    """Write the table assessors: name, trained, left."""
    schema = {"assessor": pl.String, "trained_on": pl.Date, "left_on": pl.Date}
    return pl.DataFrame(list(rows), schema=schema, orient="row")


def test_attendance_is_of_the_sessions_held_while_somebody_was_on_the_panel() -> None:
    """From training or the first session to leaving, the last session held, or the own last."""
    tasted = came(every=list(range(10)), guest=[2, 4], trained=[3, 5], left=[1, 3], stays=[2, 3])
    table = listed(("trained", session(1), None), ("left", None, session(6)), ("stays", None, None))
    found = attendance(tasted, table).select("assessor", "sessions", "sessions_held")
    assert found.rows() == [
        ("every", 10, 10),
        ("guest", 2, 3),
        ("left", 2, 6),
        ("stays", 2, 8),
        ("trained", 2, 9),
    ]


def test_nobody_attends_nothing() -> None:
    """Without tastings there is nobody to count."""
    assert attendance(came(), listed()).is_empty()
