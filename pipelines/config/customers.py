"""What customers ask to be left of the printed life when beer is shipped to them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pipelines.config.section import Section

LONGEST = 7300


@dataclass(frozen=True)
class Customer:
    """A minimum of printed life: days, or a share of it from 0 to 1; one of them is set.

    `market` is where its beer goes, as the routes have it; None: anywhere.
    """

    minimum_days: int | None
    minimum_share: float | None
    market: str | None


def customers_of(section: Section) -> dict[str, Customer]:
    """Read and check `[customers]`: by the customer's name, as the shipments have it."""
    customers = {}
    for name, own in section.sections().items():
        days = own.whole("minimum_days", 0, 1, LONGEST)
        share = own.number("minimum_share", 0.0, 0.01, 0.99)
        market = own.text("market", "")
        own.close()
        if ("minimum_days" in own.values) == ("minimum_share" in own.values):
            own.faults.append(f"{own.path} needs one of minimum_days and minimum_share")
        customers[name] = Customer(days or None, share or None, market or None)
    return customers
