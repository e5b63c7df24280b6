"""How the glasses of a session are served: which sample is poured twice, and who has what when."""

from __future__ import annotations

import numpy as np

SEATS = 6  # glasses to an assessor in a session, at most


def poured_twice(
    rng: np.random.Generator, session: np.ndarray, aged: np.ndarray, sample: np.ndarray
) -> np.ndarray:
    """Choose one aged sample in every session with a free seat, to be poured to all a second time.

    Args:
        rng: its generator.
        session: session of each glass, numbers from 0.
        aged: whether the glass holds aged beer.
        sample: its sample, numbers from 0.

    Returns:
        Rows of the glasses that are poured again.
    """
    chosen = []
    for number in range(session.max() + 1):
        here = session == number
        candidates = np.unique(sample[here & aged])
        if len(candidates) and len(np.unique(sample[here])) < SEATS:
            chosen.append(rng.choice(candidates))
    return np.flatnonzero(np.isin(sample, chosen))


def places(rng: np.random.Generator, session: np.ndarray, who: np.ndarray) -> np.ndarray:
    """Give each glass its place in its assessor's order, from 1, at random."""
    order = np.lexsort((rng.uniform(size=len(session)), who, session))
    turn = np.empty(len(order), dtype=np.int64)
    pair = session[order] * (who.max() + 1) + who[order]
    begins = np.flatnonzero(np.diff(pair, prepend=-1))
    counts = np.diff(np.append(begins, len(order)))
    turn[order] = np.arange(len(order)) - np.repeat(begins, counts) + 1
    return turn
