"""The rules of a chart, against rules written out point by point."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.control.charts import Limits
from analysis.control.rules import RULES, USUAL, ZONES, Signals, Zone, signals
from analysis.errors import InputError

LIMITS = Limits(0.0, 1.0, 20)
INF = float("inf")
clean = st.floats(-4.0, 4.0).map(lambda x: (x, x))
bound = st.one_of(
    st.floats(-4.0, 4.0).map(lambda x: (x, INF)), st.floats(-4.0, 4.0).map(lambda x: (-INF, x))
)
points = st.lists(st.one_of(clean, clean, bound), max_size=40)
Pairs = list[tuple[float, float]]


def found(rule: str, pairs: Pairs) -> Signals:
    """The signals of a rule on points given as pairs of bounds."""
    low, high = np.array(pairs, dtype=np.float64).reshape(-1, 2).T
    return signals(rule, low, high, LIMITS, weight=0.2)


def rows(signal: Signals) -> list[tuple[int, ...]]:
    """Side, first, found, last, points and ongoing of each signal."""
    return list(
        zip(
            signal.side.tolist(),
            signal.first.tolist(),
            signal.found.tolist(),
            signal.last.tolist(),
            signal.points.tolist(),
            signal.ongoing.tolist(),
            strict=True,
        )
    )


def by_hand(zone: Zone, pairs: Pairs) -> list[tuple[int, ...]]:
    """The same rule, point by point."""
    line = zone.sigmas

    def side_of(low: float, high: float) -> int | None:
        if low > line:
            return 1
        if high < -line:
            return -1
        return 0 if low >= -line and high <= line else None

    told = [(place, side_of(*pair)) for place, pair in enumerate(pairs)]
    told = [(place, side) for place, side in told if side is not None]
    signalled = []
    for side in (1, -1):
        last_end = None
        for end in range(len(told)):
            window = [i for i in range(end + 1) if told[i][1] == side][-zone.least :]
            if told[end][1] != side or len(window) < zone.least or end - window[0] >= zone.of:
                continue
            if last_end is not None and window[0] <= last_end + 1:
                signalled[-1][3] = end
            else:
                signalled.append([side, window[0], end, end])
            last_end = end
    return sorted(
        (
            (
                side,
                *(told[i][0] for i in (first, at, last)),
                last - first + 1,
                last == len(told) - 1,
            )
            for side, first, at, last in signalled
        ),
        key=lambda row: (row[2], -row[0]),
    )


@pytest.mark.parametrize("rule", ZONES)
@given(pairs=points)
def test_a_rule_finds_what_it_says(rule: str, pairs: Pairs) -> None:
    """Vectorised or point by point, with bounds among the points: the same signals."""
    assert rows(found(rule, pairs)) == by_hand(ZONES[rule], pairs)


@pytest.mark.parametrize("rule", RULES)
@given(pairs=points)
def test_a_mirrored_chart_signals_on_the_other_side(rule: str, pairs: Pairs) -> None:
    """Up and down are alike: only the side differs."""
    mirrored = found(rule, [(-high, -low) for low, high in pairs])
    seen = {(-side, *rest) for side, *rest in rows(mirrored)}
    assert seen == set(rows(found(rule, pairs)))


@pytest.mark.parametrize("rule", RULES)
@given(pairs=points, at=st.integers(0, 40))
def test_a_point_that_tells_nothing_is_as_if_not_measured(rule: str, pairs: Pairs, at: int) -> None:
    """A lot known to lie between nothing and anything neither adds to a signal nor ends one."""
    place = min(at, len(pairs))
    more = found(rule, [*pairs[:place], (-INF, INF), *pairs[place:]])
    moved = [
        (side, *(p + (p >= place) for p in places), number, ongoing)
        for side, *places, number, ongoing in rows(found(rule, pairs))
    ]
    assert rows(more) == moved


def at(*levels: float) -> Pairs:
    """Clean points."""
    return [(level, level) for level in levels]


@pytest.mark.parametrize(
    ("rule", "pairs", "expected"),
    [
        ("beyond limit", at(0, 3.1, 0), [(1, 1, 1, 1, 1, False)]),
        ("beyond limit", at(0, 3.0, -3.1), [(-1, 2, 2, 2, 1, True)]),
        ("beyond limit", [*at(0), (3.2, INF), (-INF, 3.2)], [(1, 1, 1, 1, 1, True)]),
        ("eight on one side", at(-1, *[0.1] * 9), [(1, 1, 8, 9, 9, True)]),
        ("eight on one side", at(*[0.1] * 7, 0, 0.1), []),
        ("two of three beyond two sigma", at(0, 2.1, 0, 2.2, 0), [(1, 1, 3, 3, 3, False)]),
        ("four of five beyond one sigma", at(-1.1, -1.1, 0, -2, -3), [(-1, 0, 4, 4, 5, True)]),
        ("six rising or falling", at(5, 0, 1, 2, 3, 4, 5, 4), [(1, 1, 6, 6, 6, False)]),
        ("six rising or falling", at(0, 1, 2, 3, 4, 4, 5), []),
        ("running mean beyond limit", at(*[1.5] * 6), [(1, 4, 4, 5, 2, True)]),
    ],
)
def test_a_rule_on_points_that_can_be_checked_by_hand(
    rule: str, pairs: Pairs, expected: list[tuple[int, ...]]
) -> None:
    """A bound beyond the line counts, one that does not tell is passed over, on the line is not."""
    assert rows(found(rule, pairs)) == expected


def test_the_usual_rules_seldom_cry_on_a_line_that_never_changes() -> None:
    """Two usual rules on 100,000 simulated lots in control: 130 to 175 lots from alarm to alarm."""
    x = np.random.default_rng(3).normal(size=100_000)
    alarms = sum(len(signals(rule, x, x, LIMITS, weight=0.2).side) for rule in USUAL)
    assert 130 < 100_000 / alarms < 175


def test_an_unknown_rule_is_refused() -> None:
    """The message lists those there are."""
    with pytest.raises(InputError, match="eight on one side"):
        found("nine on one side", at(0.0))
