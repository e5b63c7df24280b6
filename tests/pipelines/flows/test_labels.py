"""Labels, from files to what the pages may read and what the command says."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import pytest

from pipelines.config import load_config
from pipelines.errors import StoreError
from pipelines.flows.fit import fit
from pipelines.flows.ingest import ingest
from pipelines.flows.label_lot import answer_label
from pipelines.flows.labels import DAYS_AHEAD
from pipelines.flows.publish import publish
from pipelines.store.connect import open_store

if TYPE_CHECKING:
    from pipelines.config import Config

TODAY = date(2026, 2, 10)
SETTINGS = """
[labels]
rule = "eu"
[labels.markets.frost]
rule = "canada"
[labels.markets.nowhere]
rule = "usa"
[customers.Mill]
minimum_days = 5
market = "home"
[customers.Corner]
minimum_share = 0.5
[policy]
cap_at_oldest_tasted = false
cap_days = 50
rounding = "day"
[policy.markets.frost]
cap_days = 40
rounding = "day"
"""
FILES = {
    "routes.csv": (
        "route,market,share,storage_text\nshop,home,1,\nfridge,frost,0.2,Keep at 4 to 8 °C\n"
    ),
    "route_stages.csv": (
        "route,stage_no,stage,temp_c,days\nshop,1,van,8,3\nshop,2,shelf,19,\nfridge,1,shop,6,\n"
    ),
    "lots.csv": (
        "lot,format,beer,packaged_on,best_before\n001,can 330,Fen Pale,2026-01-05,\n"
        "002,can 330,Fen Thin,2026-02-01,2026-06-01\n"
    ),
    "beers.csv": "beer,style,abv_pct\nFen Pale,pale ale,5.0\nFen Thin,pale ale,2.4\n",
}


@pytest.fixture
def labelled(brewery: Config) -> Config:
    """The small brewery with two markets, a thin beer and customers, fitted and published."""
    for name, text in FILES.items():
        (brewery.paths.inbox / name).write_text(text, encoding="utf-8")
    file = brewery.folder / "stalecurve.toml"
    file.write_text(file.read_text(encoding="utf-8") + SETTINGS, encoding="utf-8")
    config = replace(load_config(file), as_of=TODAY)
    ingest(config, [].append)
    fit(config, [].append)
    return config


def published(config: Config, query: str) -> list[tuple[object, ...]]:
    """Ask what the pages may read."""
    with open_store(config.paths.database, read_only=True) as connection:
        return connection.sql(query).fetchall()


def test_publishing_makes_a_label_for_each_day_beer_format_and_market(labelled: Config) -> None:
    """Sixty days from the day it is, for what has a date; a market nobody goes to is said."""
    said: list[str] = []
    publish(labelled, said.append)
    days = published(
        labelled,
        "SELECT beer, market, days, count(*), min(packaged_on) FROM published.labels GROUP BY ALL "
        "ORDER BY market",
    )
    (frost, home) = days
    assert frost == ("Fen Pale", "frost", 40, DAYS_AHEAD, TODAY)
    assert home[:2] == ("Fen Pale", "home")
    assert any("nowhere under labels.markets, but no route leads" in line for line in said)
    none = published(
        labelled,
        "SELECT DISTINCT beer FROM published.market_dates WHERE days IS NULL ORDER BY beer",
    )
    assert none == [("Fen Thin",)]
    asked = published(
        labelled,
        "SELECT customer, takes_days, leaves_days FROM published.customer_minimums "
        "WHERE market = 'frost'",
    )
    assert asked == [("Corner", 20, 20)]


def test_the_command_says_what_to_print_and_how_it_is_kept(labelled: Config) -> None:
    """The date, why, at which temperature, by which rule, and the storage text of a cold way."""
    said: list[str] = []
    assert answer_label("001", None, "frost", labelled, said.append)
    (line,) = said
    assert line.startswith(
        "001, can 330 (Fen Pale, packaged 5 Jan 2026), for frost: print “Best before / Meilleur "
        "avant 2026 FE 14”: 40 days, ended by the cap you set, kept as 'fridge' says, which ends "
        "at 6 °C."
    )
    assert re.search(r"Put “Keep at 4 to 8 °C” on the package: on a shelf at 21 °C it has", line)
    assert "Food and Drug Regulations (Canada), B.01.007. Check with your local authority." in line
    assert "90 days or less: the date and how to store it must stand on the package" in line


def test_a_lot_with_much_oxygen_is_not_given_the_usual_date(labelled: Config) -> None:
    """Its own days on its main way, and elsewhere the way to the answer."""
    readings = [
        f"{lot},2026-02-0{at},ppb,total,{value + at},30"
        for lot, value in (("001", 30), ("003", 900))
        for at in range(1, 9)
    ]
    more = {
        "oxygen.csv": ["lot,measured_at,unit,quantity,value,minutes_after_fill", *readings],
        "lots more.csv": [
            "lot,format,beer,packaged_on",
            "003,can 330,Fen Pale,2026-02-01",
        ],
    }
    for name, lines in more.items():
        (labelled.paths.inbox / name).write_text("\n".join(lines) + "\n", encoding="utf-8")
    ingest(labelled, [].append)
    fit(labelled, [].append)
    said: list[str] = []
    assert answer_label("003", None, None, labelled, said.append)
    frost, home = said
    (days,) = re.findall(r"(\d+) days, ended by this lot's own oxygen", home)
    assert 0 < int(days) < 50
    assert frost.endswith(
        "for frost: nothing to print. Its oxygen does not allow the usual date: stalecurve lot 003 "
        "says what it allows."
    )


def test_a_thin_beer_gets_no_label_and_a_packed_one_no_second_date(labelled: Config) -> None:
    """Below 2.5 % vol safety comes first; what a lot carries already stands."""
    said: list[str] = []
    assert not answer_label("002", None, None, labelled, said.append)
    assert said[0].endswith(
        "for frost: nothing to print. Safety of low- and no-alcohol beer must be validated "
        "separately; this date does not do it."
    )
    assert said[-1] == "It carries 1 Jun 2026 already. Packed beer is never re-dated."


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (("01", None, None), "there is no lot 01: did you mean 001"),
        (("001", "can 33", None), "lot 001 was not filled into can 33: it is can 330"),
        (("001", None, "frosty"), "no route leads to a market frosty: did you mean frost"),
    ],
)
def test_what_is_not_known_is_refused(
    labelled: Config, asked: tuple[str, str | None, str | None], said: str
) -> None:
    """With the nearest there is."""
    with pytest.raises(StoreError, match=said):
        answer_label(*asked, labelled, [].append)


def test_without_a_store_there_is_no_label(brewery: Config) -> None:
    """The sentence says what to run first."""
    with pytest.raises(StoreError, match="run stalecurve load first"):
        answer_label("001", None, None, brewery, [].append)
