"""The seam at which work is spread over threads, processes or machines.

Nothing here knows an executor. A function whose work falls into parts that need not wait for each
other takes `each`, applies it to a function and its parts, and gets the results in the order of the
parts; `map` does one part after the other. A part is a frozen record that can be pickled, its `str`
names it for a person, and the function is one of a module and changes nothing it is given: so
results are the same to the last digit, wherever they were made.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    Part = TypeVar("Part")
    Result = TypeVar("Result")


class Each(Protocol):
    """Apply a function to every part, as `map` does."""

    def __call__(
        self, work: Callable[[Part], Result], parts: Iterable[Part], /
    ) -> Iterable[Result]:
        """Give the results in the order of the parts."""
        ...
