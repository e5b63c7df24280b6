"""Whatever a person does, what stands is what was said last and not taken back.

A plain model keeps every saying in a list and is asked the same questions as the store.
"""

from __future__ import annotations

import tempfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from pipelines.config import Config, load_config
from pipelines.errors import StoreError
from pipelines.flows.forget import forget
from tests.pipelines.flows.conftest import CONFIGURATION, Desk

if TYPE_CHECKING:
    from collections.abc import Mapping

# A file says of some beers how strong they are, that they are void, or something faulty.
BAD = "strong"
WORDS = ("4", "5", "yes", BAD)
FILES = st.sampled_from(["one", "two", "three"])
ROWS = st.dictionaries(st.sampled_from("ABC"), st.sampled_from(WORDS), min_size=1)
WRITE = st.tuples(st.just("write"), FILES, ROWS)
MEND = st.tuples(st.just("mend"), st.integers(0, 5), st.sampled_from(("4", "5", "yes", "weak")))
FORGET = st.tuples(st.just("forget"), st.sampled_from(["one", "two", "three", "mended"]))
STEPS = st.lists(st.one_of(WRITE, WRITE, MEND, FORGET), max_size=7)


@dataclass
class Model:
    """What was said: file, load, beer and word; and which loads of which file were taken back."""

    load: int = 0
    said: list[tuple[str, int, str, str]] = field(default_factory=list)
    forgotten: set[tuple[str, int]] = field(default_factory=set)
    loads: dict[str, list[int]] = field(default_factory=dict)
    contents: dict[str, str] = field(default_factory=dict)

    def counting(self) -> list[tuple[str, int, str, str]]:
        """The sayings that were not taken back."""
        return [one for one in self.said if one[:2] not in self.forgotten]

    def say(self, file: str, rows: Mapping[str, str]) -> None:
        """Take in the good rows of a file; what it said last time is no news."""
        self.load += 1
        self.loads.setdefault(file, []).append(self.load)
        for beer, word in rows.items():
            own = [w for f, _, b, w in self.counting() if (f, b) == (file, beer)]
            if word not in {BAD, "weak"} and own[-1:] != [word]:
                self.said.append((file, self.load, beer, word))

    def standing(self) -> dict[str, float]:
        """What was said last of each beer, unless that was void."""
        last = {beer: word for _, _, beer, word in self.counting()}
        return {beer: float(word) for beer, word in last.items() if word != "yes"}


def row_of(beer: str, word: str) -> str:
    """A row of a file."""
    return f"{beer},stout,4,yes" if word == "yes" else f"{beer},stout,{word},"


def brewery_in(folder: Path) -> Config:
    """A brewery with an empty inbox."""
    (folder / "inbox").mkdir()
    (folder / "stalecurve.toml").write_text(CONFIGURATION, encoding="utf-8")
    return load_config(folder / "stalecurve.toml")


def all_rows_are_counted(desk: Desk) -> bool:
    """Each row read is new, corrected, unchanged, withdrawn or set aside."""
    return desk.ask(
        """
        SELECT count(*) FROM intake.row_counts WHERE rows_read <>
            rows_new + rows_corrected + rows_unchanged + rows_withdrawn + rows_set_aside
        """
    ) == [(0,)]


@settings(deadline=None, max_examples=12, suppress_health_check=list(HealthCheck))
@given(steps=STEPS)
@example(
    steps=[
        ("write", "three", {"A": "4", "B": "4", "C": BAD}),
        ("write", "three", {"B": "5", "A": "4", "C": "4"}),
        ("forget", "three"),
        ("write", "one", {"C": BAD, "B": "5"}),
    ]
)
@example(
    steps=[
        ("write", "three", {"A": "4", "B": BAD}),
        ("mend", 0, "weak"),
        ("write", "one", {"A": BAD}),
        ("mend", 0, "4"),
    ]
)
def test_what_stands_is_what_was_said_last_and_not_taken_back(
    steps: list[tuple[str, object, object]],
) -> None:
    """Loads, corrections, voids, mended rows and loads taken back, in any order."""
    with tempfile.TemporaryDirectory() as name:
        desk = Desk(brewery_in(Path(name)))
        desk.load()
        model = Model()
        for number, (what, *of) in enumerate(steps):
            if what == "write":
                write(desk, model, number, *of)  # type: ignore[arg-type]
            elif what == "mend":
                mend(desk, model, number, *of)  # type: ignore[arg-type]
            else:
                take_back(desk, model, f"beers {of[0]}.csv")
            current = dict(desk.ask("SELECT beer, abv_pct FROM core.beers"))  # type: ignore[arg-type]
            assert current == model.standing()
            assert all_rows_are_counted(desk)


def write(desk: Desk, model: Model, number: int, name: str, rows: dict[str, str]) -> None:
    """Put a file in; the comment makes each content news."""
    file = f"beers {name}.csv"
    lines = [row_of(beer, word) for beer, word in rows.items()]
    desk.put(file, f"# {number}", "beer,style,abv_pct,void", *lines)
    assert desk.load("all").files == 1
    model.say(file, rows)
    read = desk.ask(
        f"""
        SELECT rows_read FROM intake.row_counts WHERE file = '{file}'
        ORDER BY load_id DESC LIMIT 1
        """
    )
    assert read == [(len(rows),)]


def mend(desk: Desk, model: Model, number: int, which: int, word: str) -> None:
    """Mend one row of the list, if there is any, and leave the others."""
    rows = desk.aside("beers")
    if not rows:
        return
    row = rows[which % len(rows)]
    change = {"void": "yes"} if word == "yes" else {"abv_pct": word}
    row |= change | {"reason": str(number)}
    desk.drop_in("beers mended.csv", rows)
    assert desk.load("all").files == 1
    beer = row["beer"]
    model.say("beers mended.csv", {} if word == "yes" else {beer: word})
    left = [one["beer"] for one in desk.aside("beers")]
    assert len(left) == len(rows) - (word != "weak")


def take_back(desk: Desk, model: Model, file: str) -> None:
    """Take the newest load of a file back, if one is left."""
    left = [load for load in model.loads.get(file, []) if (file, load) not in model.forgotten]
    try:
        forget(file, desk.config, [].append)
    except StoreError:
        assert not left
        return
    model.load += 1
    model.forgotten.add((file, left[-1]))
