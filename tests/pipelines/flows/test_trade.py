"""Asking what is in the trade of a beer whose printed date proved too long."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

import polars as pl
import pytest

from analysis.dating.trade import in_trade
from pipelines.errors import StoreError
from pipelines.flows.fit import fit
from pipelines.flows.ingest import ingest
from pipelines.flows.trade import answer_trade
from pipelines.flows.trade_words import NOT_FOR_SAFETY, trade_lines
from pipelines.store.connect import open_store

if TYPE_CHECKING:
    from pathlib import Path

    from pipelines.config import Config

TODAY = date(2026, 5, 1)
DATED: dict[str, Any] = {
    "beer": "Fen Pale",
    "format": "can 330",
    "route": "shop",
    "temp_c": 19.0,
    "printed_days": 120,
    "supported_days": 77,
    "binding_cause": "flavour",
    "reason": None,
}
LOTS = pl.DataFrame(
    {
        "lot": ["A1", "A2"],
        "packaged_on": [TODAY - timedelta(days=90), TODAY - timedelta(days=20)],
        "best_before": [TODAY + timedelta(days=30), TODAY + timedelta(days=100)],
        "packages": [500, None],
    },
    schema_overrides={"packages": pl.Int32},
)
SHIPPED = pl.DataFrame(
    {
        "lot": ["A1", "A1", "A2"],
        "shipped_on": [TODAY - timedelta(days=9)] * 3,
        "packages": [450, 100, 60],
        "customer": ["Corner", None, "Mill"],
        "route": None,
    },
    schema_overrides={"packages": pl.Int32, "route": pl.String},
)
MORE = {
    "lots trade.csv": (
        "lot,format,beer,packaged_on,best_before,packages\n"
        "002,can 330,Fen Pale,2026-01-20,2026-06-20,100\n"
    ),
    "shipments.csv": (
        "shipment,lot,shipped_on,packages,route,customer\nW1,002,2026-02-01,60,shop,Corner\n"
    ),
}


ANSWER = """\
Fen Pale, can 330: printed 120 days on the newest lot; the data support 77, kept as 'shop' says \
(about 19 °C).
Packaged and not past the printed date: 2 lots, 610 packages shipped; past what the data support: \
1 lot, 550 packages.
  A1: packaged 31 Jan 2026, supported 18 Apr 2026, printed 31 May 2026; shipped 550, 50 more \
shipped than packed
  A2: packaged 11 Apr 2026, supported 27 Jun 2026, printed 9 Aug 2026; shipped 60, in house not \
known, its packages are not written down
With whom:
  Corner: 450 packages of 1 lot, the first past it since 18 Apr 2026
  customer not given: 100 packages of 1 lot, the first past it since 18 Apr 2026
  Mill: 60 packages of 1 lot, the first to be sold by 27 Jun 2026
What can be done, and what each touches:
  leave it: touches nothing; until 9 Aug 2026 beer is drunk older than the data support
  tell customers to sell sooner: touches Corner, customer not given, Mill; 610 packages
  take back what is past what the data support: touches 550 packages of A1
  shorten the next label to 77 days: touches no beer that is packed, for packed beer is never \
re-dated
Which of them is for the brewery to decide.
This is about flavour alone. Where the reason could be safety (illness, injury, a foreign body, \
burst or gushing packages, chemicals, an allergen), it is not for this: hand over to the \
food-safety lead.\
"""


def lines(lots: pl.DataFrame = LOTS, shipped: pl.DataFrame = SHIPPED, **dated: object) -> list[str]:
    """What is said of these lots."""
    known = DATED | dated
    return list(trade_lines(known, in_trade(lots, shipped, known["supported_days"], TODAY), TODAY))


def test_lots_customers_and_options_are_said_with_what_each_touches() -> None:
    """In words, with the temperature the date is for, and no advice on safety."""
    assert "\n".join(lines()) == ANSWER


def test_beer_that_went_another_way_is_told_by_that_way() -> None:
    """Cold, the printed dates hold and nobody need be told; by sea they end sooner."""
    sent = SHIPPED.with_columns(route=pl.Series(["cold", None, "sea"]))
    temps = {"cold": 8.0, "sea": 28.0, "shop": 19.0}
    out = in_trade(LOTS, sent, 77, TODAY, {"cold": 150, "sea": 10, "shop": 77})
    said = "\n".join(trade_lines({**DATED, "temps": temps}, out, TODAY))
    assert "Corner, by 'cold' (about 8 °C): 450 packages of 1 lot, their printed dates hold" in said
    assert "Mill, by 'sea' (about 28 °C): 60 packages of 1 lot, the first past it since 21" in said
    assert "tell customers to sell sooner: touches customer not given, Mill; 160 packages" in said
    assert "past what the data support: 2 lots, 160 packages." in said


def test_a_date_that_is_not_too_long_offers_nothing_to_do() -> None:
    """The lots are told, and that there is no reason to act."""
    said = lines(supported_days=126)
    assert said[0].endswith("The printed date is not too long.")
    assert not any("What can be done" in line for line in said)
    assert said[-1] == NOT_FOR_SAFETY


def test_where_the_reason_could_be_safety_no_option_is_given() -> None:
    """Below 2.5 % vol without a validation: hand over, leave the trade's options alone."""
    said = lines(supported_days=None, binding_cause="safety", reason="Validate it.")
    assert said[0].endswith("the data support no date: Validate it.")
    assert "ask the food-safety lead before anything else" in said[-2]
    assert not any("leave it" in line for line in said)
    infected = lines(binding_cause="infection")
    assert infected[1] == "What ends it is infection: ask the food-safety lead first."


def test_without_a_run_lots_and_customers_are_told_all_the_same() -> None:
    """And that there is no supported date yet."""
    said = lines(supported_days=None, route=None, temp_c=None, printed_days=None)
    assert said[0] == (
        "Fen Pale, can 330: none printed on the newest lot; the data support no date: no run has "
        "dated it yet."
    )
    assert "  A2: packaged 11 Apr 2026, printed 9 Aug 2026; shipped 60" in said[3]
    assert not any("next label" in line for line in said)


def test_nothing_out_and_nothing_shipped_are_said() -> None:
    """No lot, or lots with no shipment known: which table would tell."""
    assert lines(LOTS.clear())[1] == (
        "No lot of it is packaged and not past its printed date: nothing is out."
    )
    said = lines(shipped=SHIPPED.clear())
    assert "With whom: no shipment of these lots is known; the table shipments would tell." in said
    assert not any("take back" in line for line in said)


@pytest.fixture
def traded(brewery: Config) -> Config:
    """The small brewery with a lot in the trade and a run."""
    for name, text in MORE.items():
        (brewery.paths.inbox / name).write_text(text, encoding="utf-8")
    ingest(brewery, [].append)
    fit(brewery, [].append)
    return replace(brewery, as_of=date(2026, 2, 10))


def ask(config: Config, beer: str, format_: str) -> tuple[list[str], Path]:
    """Ask about a beer: what was said, and the page."""
    said: list[str] = []
    page = answer_trade(beer, format_, config, said.append)
    return said, page


def test_a_question_is_answered_kept_and_shown(traded: Config) -> None:
    """With the run that it rests on, once each time it is asked."""
    said, page = ask(traded, "Fen Pale", "can 330")
    assert "kept as 'shop' says (about 19 °C)." in said[0] or "support no date" in said[0]
    assert any("  Corner: 60 packages of 1 lot" in line for line in said)
    assert page == traded.paths.pages / "stock.html"
    assert "Fen Pale, can 330" in page.read_text(encoding="utf-8")
    ask(traded, "Fen Pale", "can 330")
    with open_store(traded.paths.database, read_only=True) as connection:
        rows = connection.sql(
            """
            SELECT run_id, beer, format, route, temp_c, printed_days, lots, packages, customers
            FROM published.trade_inquiries
            """
        ).fetchall()
    assert rows == [(1, "Fen Pale", "can 330", "shop", 19.0, 151, 1, 60, 1)] * 2


@pytest.mark.parametrize(
    ("beer", "format_", "message"),
    [
        ("Fen pale", "can 330", "there is no lot of Fen pale: did you mean Fen Pale?"),
        ("Zz", "can 330", "there is no lot of Zz$"),
        ("Fen Pale", "can 33", "was not filled into can 33: there is can 330: did you mean can"),
    ],
)
def test_an_unknown_beer_or_format_is_told_with_the_nearest(
    traded: Config, beer: str, format_: str, message: str
) -> None:
    """And nothing is kept."""
    with pytest.raises(StoreError, match=message.replace("?", r"\?")):
        ask(traded, beer, format_)
    with open_store(traded.paths.database, read_only=True) as connection:
        assert connection.sql("FROM published.trade_inquiries").fetchall() == []


def test_before_the_first_load_there_is_nothing_to_ask(brewery: Config) -> None:
    """The message says what to do first."""
    with pytest.raises(StoreError, match="run stalecurve load first"):
        ask(brewery, "Fen Pale", "can 330")
