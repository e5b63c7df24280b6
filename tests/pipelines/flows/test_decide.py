"""Deciding a date, and the same record again after the store has moved on."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from pipelines.config import load_config
from pipelines.errors import DecisionError, StoreError
from pipelines.flows.decide import decide
from pipelines.flows.decision_record import Wanted
from pipelines.flows.fit import fit
from pipelines.flows.ingest import ingest
from pipelines.flows.publish import publish
from pipelines.flows.record_sheets import list_decisions, show_record
from pipelines.store.connect import open_store
from pipelines.store.decisions import inputs_of

if TYPE_CHECKING:
    from pipelines.config import Config

COMMAND = Path(sys.executable).with_name("stalecurve")
SETTINGS = """
[policy]
cap_at_oldest_tasted = false
cap_days = 15
rounding = "day"
[policy.markets.frost]
cap_days = 40
"""
FILES = {
    "routes.csv": (
        "route,market,share,storage_text\nshop,home,1,\nfridge,frost,0.2,Keep at 4 to 8 °C\n"
        "ship,far,0.1,\n"
    ),
    "route_stages.csv": (
        "route,stage_no,stage,temp_c,days\nshop,1,van,8,3\nshop,2,shelf,19,\nfridge,1,shop,6,\n"
        "ship,1,hold,20,900\nship,2,shelf,20,\n"
    ),
    "lots.csv": (
        "lot,format,beer,packaged_on,best_before\n001,can 330,Fen Pale,2026-01-05,2026-06-05\n"
        "002,can 330,Fen Thin,2026-02-01,2026-06-01\n"
    ),
    "beers.csv": "beer,style,abv_pct\nFen Pale,pale ale,5.0\nFen Thin,pale ale,2.4\n",
}
PALE = Wanted("Fen Pale", "can 330", 14, "Ada Quill", market="home")


@pytest.fixture(scope="module")
def fitted(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a small brewery with three markets and a thin beer, fitted once."""
    from tests.pipelines.flows.conftest import CONFIGURATION, INBOX

    folder = tmp_path_factory.mktemp("decided")
    (folder / "inbox").mkdir()
    for name, text in {**INBOX, **FILES}.items():
        (folder / "inbox" / name).write_text(text, encoding="utf-8")
    file = folder / "stalecurve.toml"
    file.write_text(CONFIGURATION + SETTINGS, encoding="utf-8")
    config = load_config(file)
    ingest(config, [].append)
    fit(config, [].append)
    return folder


@pytest.fixture
def config(fitted: Path, tmp_path: Path) -> Config:
    """A copy of that brewery."""
    copy = shutil.copytree(fitted, tmp_path / "brewery")
    return load_config(copy / "stalecurve.toml")


def told(wanted: Wanted, config: Config) -> tuple[list[str], dict[str, Any]]:
    """Decide, and return what was said and the record."""
    said: list[str] = []
    written = decide(wanted, config, said.append)
    return said, json.loads(written[0].read_text(encoding="utf-8"))


def test_a_decision_is_kept_with_its_evidence(config: Config) -> None:
    """Who, what, run, load, code, inputs, rule, lives at three shares, and the share at risk."""
    said, record = told(PALE, config)
    assert said[0].startswith(
        "Decision 1: Fen Pale, can 330, for home: 14 days from packaging, by Ada Quill on "
    )
    assert said[1] == (
        "14 days are 1 day below what the data support, which is 15 days, kept as 'shop' says, "
        "which ends at 19 °C."
    )
    assert "First estimate, unchecked: do not change a label on this alone." in said
    (route,) = record["routes"]
    assert (route["route"], route["market"], route["temp_c"]) == ("shop", "home", 19.0)
    assert route["rule_in_words"] == (
        "life ends where one glass in four would be rejected for age, 90 % sure; cut at 15 days; "
        "down to whole days"
    )
    assert [life["share_rejected"] for life in route["shelf_lives"]] == [0.1, 0.25, 0.5]
    risk = route["at_risk"]
    assert 0.0 < risk["lower"] < risk["share"] < risk["upper"] < 1.0
    assert {row["choice"] for row in record["alternatives"]} >= {"share", "confidence", "cap"}
    assert (record["days_above_supported"], record["because"]) == (0, None)
    evidence = record["evidence"]
    assert (evidence["run"], evidence["newest_load"], evidence["input_files"]) == (1, 1, 7)
    digests = sorted(sha256(path.read_bytes()).hexdigest() for path in config.paths.inbox.iterdir())
    of_all = sha256("".join(f"{digest}\n" for digest in digests).encode()).hexdigest()
    assert evidence["inputs_sha256"] == of_all
    with open_store(config.paths.database, read_only=True) as connection:
        assert inputs_of(connection, None) == (0, sha256(b"").hexdigest())


def test_the_record_is_the_same_bytes_after_the_store_has_moved_on(config: Config) -> None:
    """New loads, a new run and new pages later, JSON, HTML and PDF come out to the bit."""
    written = decide(replace(PALE, days=25, because="the trade asks"), config, [].append)
    assert [path.suffix for path in written] == [".json", ".html", ".pdf"]
    before = {path: path.read_bytes() for path in written}
    shutil.rmtree(written[0].parent)

    (config.paths.inbox / "tastings more.csv").write_text(
        "session,tasted_on,assessor,sample,verdict\n"
        "T2,2026-02-06,A2,S1,reject\nT2,2026-02-06,A2,S2,reject\n",
        encoding="utf-8",
    )
    ingest(config, [].append)
    assert fit(config, [].append).run_id == 2
    decide(replace(PALE, days=7), config, [].append)
    publish(config, [].append)

    said: list[str] = []
    again = show_record(1, config, said.append)
    assert {path: path.read_bytes() for path in again} == before
    assert said[-1] == "Decision 2 took its place."
    for path in written[:2]:
        assert (config.paths.pages / "records" / path.name).read_bytes() == before[path]


def test_above_what_the_data_support_a_reason_is_needed(config: Config) -> None:
    """Without one nothing is kept; with one it is, and says by how much it is above."""
    with pytest.raises(DecisionError, match=r"25 days are 10 days above .* 15 days kept as 'shop'"):
        decide(replace(PALE, days=25), config, [].append)
    said, record = told(replace(PALE, days=25, because="the trade asks"), config)
    assert record["decision"] == 1
    assert record["days_above_supported"] == 10
    assert "25 days are 10 days above what the data support, which is 15 days" in said[2]
    at_the_bound = told(replace(PALE, days=15), config)[1]
    assert at_the_bound["days_above_supported"] == 0


def test_a_route_that_is_not_fit_needs_a_reason_too(config: Config) -> None:
    """For all markets it is covered; a decision for one market leaves it out."""
    everywhere = replace(PALE, market=None)
    with pytest.raises(DecisionError, match=r"for 'ship', .* no date \(not fit for this route"):
        decide(everywhere, config, [].append)
    said, record = told(replace(everywhere, because="none goes by ship now"), config)
    assert {route["route"] for route in record["routes"]} == {"fridge", "ship", "shop"}
    assert any(line.startswith("No date for 'ship', which ends at 20 °C") for line in said)
    alone = told(replace(PALE, market=None, route="ship", because="a trial"), config)[1]
    assert (alone["market"], alone["supported"]["days"]) == ("far", None)


def test_a_newer_decision_takes_the_place_of_an_older_one(config: Config) -> None:
    """Its own place alone; one for all markets takes every one's; the list shows them all."""
    told(PALE, config)
    told(replace(PALE, market="frost", days=30), config)
    newer = told(replace(PALE, days=13), config)[1]
    assert [old["decision"] for old in newer["takes_the_place_of"]] == [1]
    everywhere = told(replace(PALE, market=None, days=28, because="one label"), config)[1]
    assert [old["decision"] for old in everywhere["takes_the_place_of"]] == [3, 2]
    said: list[str] = []
    list_decisions(config, said.append)
    assert [line.rpartition("; ")[2] for line in said] == [
        "holds",
        "decision 4 took its place",
        "decision 4 took its place",
        "decision 3 took its place",
    ]


def test_low_alcohol_gets_no_date_whatever_the_reason(config: Config) -> None:
    """Safety is not a given below 2.5 % vol."""
    thin = replace(PALE, beer="Fen Thin", because="the trade asks")
    with pytest.raises(DecisionError, match=r"Fen Thin: no date\. Safety of low- and no-alcohol"):
        decide(thin, config, [].append)


@pytest.mark.parametrize(
    ("change", "error", "said"),
    [
        ({"beer": "Fen Pal"}, StoreError, "no lot of Fen Pal to date: did you mean Fen Pale?"),
        ({"format": "can 33"}, StoreError, "there is can 330; did you mean can 330?"),
        ({"market": "hom"}, StoreError, "no market hom: there is .*; did you mean home?"),
        ({"market": None, "route": "shp"}, StoreError, "no route shp: .*; did you mean sh"),
        ({"days": 0}, DecisionError, "0 days are no best-before date: expected 1 to 7300"),
        ({"days": 9000}, DecisionError, "expected 1 to 7300"),
        ({"by": " "}, DecisionError, "the name of who records it: --by NAME"),
        ({"route": "shop"}, DecisionError, "give --market or --route"),
    ],
)
def test_what_cannot_be_decided_is_said_plainly(
    config: Config, change: dict[str, Any], error: type[Exception], said: str
) -> None:
    """With the nearest there is; nothing is kept."""
    with pytest.raises(error, match=said):
        decide(replace(PALE, **change), config, [].append)
    lines: list[str] = []
    list_decisions(config, lines.append)
    assert lines == ["Nothing has been decided yet: stalecurve decide does, and keeps it."]


def test_a_decision_rests_on_a_run_that_saw_everything(config: Config) -> None:
    """A changed configuration or new rows ask for a run first."""
    stricter = replace(config, policy=replace(config.policy, confidence=0.95))
    with pytest.raises(DecisionError, match=r"changed after run 1, .* run stalecurve run first"):
        decide(PALE, stricter, [].append)


def test_before_the_first_run_nothing_can_be_decided(brewery: Config) -> None:
    """Without a store, and with one that nothing was worked out of."""
    with pytest.raises(StoreError, match="run stalecurve run first"):
        decide(PALE, brewery, [].append)
    ingest(brewery, [].append)
    with pytest.raises(DecisionError, match="nothing has been dated yet"):
        decide(PALE, brewery, [].append)
    with pytest.raises(StoreError, match="no decision 3: nothing has been decided yet"):
        show_record(3, brewery, [].append)


def test_without_pango_the_sheet_is_written_all_the_same(config: Config) -> None:
    """A machine whose library is missing gets HTML and JSON, and is told what to install."""
    decide(PALE, config, [].append)
    shutil.rmtree(config.folder / "records")
    # What the import does where Pango cannot be loaded.
    (config.folder / "weasyprint.py").write_text("raise OSError('cannot load library pango')\n")
    path = os.pathsep.join(filter(None, (str(config.folder), os.environ.get("PYTHONPATH"))))
    done = subprocess.run(
        [str(COMMAND), "record", "1"],
        cwd=config.folder,
        env=os.environ | {"PYTHONPATH": path},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert "apt-get install libpango-1.0-0 libpangoft2-1.0-0" in done.stdout
    assert sorted(file.suffix for file in (config.folder / "records").iterdir()) == [
        ".html",
        ".json",
    ]
