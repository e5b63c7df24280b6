"""One table of the configuration file while it is checked: every fault is noted, none stops it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from pipelines.readers.names import did_you_mean

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping


@dataclass
class Section:
    """One table of the file: hands out checked values, notes every fault, knows what was asked."""

    path: str
    values: Mapping[str, Any]
    faults: list[str]
    asked: list[str] = field(default_factory=list)

    def where(self, key: str) -> str:
        """Give the path of a key, as the file would write it."""
        shown = key if key.replace("_", "").replace("-", "").isalnum() else f'"{key}"'
        return f"{self.path}.{shown}" if self.path else shown

    def fault(self, key: str, expected: str) -> None:
        """Note that the value of a key is not what was expected."""
        self.faults.append(f"{self.where(key)} is {self.values[key]!r}, expected {expected}")

    def checked(
        self, key: str, default: object, expected: str, holds: Callable[[Any], bool]
    ) -> Any:  # noqa: ANN401 - the check is what gives the value its type
        """Give the value of a key that holds, else note it and give the default."""
        self.asked.append(key)
        if key not in self.values:
            return default
        if not holds(self.values[key]):
            self.fault(key, expected)
            return default
        return self.values[key]

    def text(self, key: str, default: str) -> str:
        """Give a text that is not empty."""
        return str(
            self.checked(key, default, "a text", lambda v: isinstance(v, str) and bool(v.strip()))
        )

    def number(self, key: str, default: float, low: float, high: float) -> float:
        """Give a number between two bounds, both allowed."""
        expected = f"a number from {low:g} to {high:g}"
        return float(
            self.checked(key, default, expected, lambda v: _is_number(v) and low <= v <= high)
        )

    def whole(self, key: str, default: int, low: int, high: int) -> int:
        """Give a whole number between two bounds, both allowed."""
        expected = f"a whole number from {low} to {high}"
        return int(
            self.checked(
                key,
                default,
                expected,
                lambda v: _is_number(v) and isinstance(v, int) and low <= v <= high,
            )
        )

    def flag(self, key: str, *, default: bool) -> bool:
        """Give true or false."""
        return bool(self.checked(key, default, "true or false", lambda v: isinstance(v, bool)))

    def choice(self, key: str, default: str, choices: tuple[str, ...]) -> str:
        """Give one of a closed list."""
        expected = " or ".join(f'"{choice}"' for choice in choices)
        return str(self.checked(key, default, expected, lambda v: v in choices))

    def day(self, key: str) -> date | None:
        """Give a day, if one is set."""
        found = self.checked(
            key,
            None,
            "a day such as 2026-04-07, without quotes",
            lambda v: isinstance(v, date) and not isinstance(v, datetime),
        )
        return None if found is None else date.fromisoformat(str(found))

    def section(self, key: str) -> Section:
        """Give a table within this one."""
        values = self.checked(
            key, {}, f"a table [{self.where(key)}]", lambda v: isinstance(v, dict)
        )
        return Section(self.where(key), values, self.faults)

    def sections(self) -> dict[str, Section]:
        """Every key as a table of its own, where the keys are names that the site chose."""
        return {key: self.section(key) for key in self.values}

    def close(self) -> None:
        """Note every key that was never asked for, with the nearest that was."""
        for key in self.values:
            if key not in self.asked:
                self.unknown(key, self.asked)

    def unknown(self, key: str, known: Iterable[str], what: str = "key") -> None:
        """Note a key that nothing knows, with the nearest that is known."""
        self.faults.append(f"{self.where(key)} is no known {what}{did_you_mean(key, known)}")


def is_texts(value: object) -> bool:
    """Whether a value is a list of texts that are not empty."""
    return isinstance(value, list) and all(isinstance(item, str) and item for item in value)


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
