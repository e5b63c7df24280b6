"""What a table and a column of the contract are."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal[
    "identifier", "text", "choice", "choices", "number", "integer", "date", "time", "yes/no"
]

IDENTIFIER_LENGTH = 64

_EXPECTED = {
    "identifier": f"a name or code of up to {IDENTIFIER_LENGTH} characters",
    "text": "a text",
    "date": "a day such as 2026-04-07",
    "time": "a day and time such as 2026-04-07 14:30",
    "yes/no": "yes or no",
}


@dataclass(frozen=True)
class Column:
    """One column of an input table.

    Attributes:
        name: The column's name, here and in the store.
        kind: What a cell holds; `choices` is several of a closed list, separated by `;`.
        required: Whether every row must fill it.
        key: Whether it is part of what identifies a row.
        choices: The closed list, in canonical spelling.
        minimum: The smallest plausible number.
        maximum: The largest plausible number.
        above: A bound that the number must lie above.
        default: What an empty cell means, canonical; "" means missing.
        bounded: Whether `<10` (below 10) and `>10` are numbers here.
        refers: The table, or `meters`, that the cell names a row of.
        firm: Whether a row is set aside when what it names is unknown; else it is mentioned.
    """

    name: str
    kind: Kind
    required: bool = False
    key: bool = False
    choices: tuple[str, ...] = ()
    minimum: float | None = None
    maximum: float | None = None
    above: float | None = None
    default: str = ""
    bounded: bool = False
    refers: str = ""
    firm: bool = False

    @property
    def expected(self) -> str:
        """What a cell of this column should hold, in words."""
        if self.kind in {"number", "integer"}:
            return self._expected_number()
        if self.kind == "choices":
            return f"{one_of(self.choices)}; several are separated by ;"
        return one_of(self.choices) if self.choices else _EXPECTED[self.kind]

    def _expected_number(self) -> str:
        noun = "a whole number" if self.kind == "integer" else "a number"
        bounds = (("above", self.above), ("from", self.minimum), ("up to", self.maximum))
        ends = [f"{word} {bound:.9g}" for word, bound in bounds if bound is not None]
        return " ".join([noun, *ends])


@dataclass(frozen=True)
class Table:
    """One input table.

    Attributes:
        name: The table's name, in files, sheets and the store.
        columns: Its columns in the order of the contract.
        derived: Text columns that the reader adds to the stored rows.
        wide: Headings that each stand for one value of `quantity`, the cell being its `value`.
        key_if: The column without which a row has no key that holds.
    """

    name: str
    columns: tuple[Column, ...]
    derived: tuple[str, ...] = ()
    wide: tuple[str, ...] = ()
    key_if: str = ""

    @property
    def key(self) -> tuple[str, ...]:
        """The columns that identify a row; none where identical rows are counted."""
        return tuple(column.name for column in self.columns if column.key)

    @property
    def stored(self) -> tuple[str, ...]:
        """The columns that a row's own values are stored in."""
        return (*(column.name for column in self.columns), *self.derived)

    @property
    def headings(self) -> tuple[str, ...]:
        """Every heading that a file of this table may have, apart from scored attributes."""
        return (*(column.name for column in self.columns), *self.wide, VOID.name)


def one_of(words: tuple[str, ...]) -> str:
    """Words as a choice in a sentence: `a, b or c`."""
    return " or ".join(part for part in (", ".join(words[:-1]), words[-1]) if part)


BEYOND = "cells beyond the headings"  # in a row that is longer than its headings
VOID = Column("void", "yes/no", default="no")
