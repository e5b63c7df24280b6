"""Planning a study, from the command to the workbook that comes back through the inbox."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import pytest
from typer.testing import CliRunner

from analysis.dating.neighbours import Neighbour
from pipelines.cli import app, main
from pipelines.config import load_config
from pipelines.errors import ReadError, StoreError
from pipelines.flows.ingest import ingest
from pipelines.flows.plan import make_plan
from pipelines.flows.plan_words import additions_lines
from pipelines.flows.study import Asked
from pipelines.store.connect import open_store

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from pipelines.config import Config

BURST = (
    "Warm, carbonated packages can burst: guards, gloves, eye protection, the maker's limits, "
    "local rules."
)
MAY_RISE = "Pressure may rise above this figure. Do not force this beer in glass."
BEGINS = date(2027, 1, 11)
STOUT = Asked("stout", "bottle 500", studies=2, begins=BEGINS)
PALE = Asked("pale ale", "can 330", studies=2, begins=BEGINS)


@pytest.fixture(scope="module")
def loaded(make_brewery: Callable[..., Path], tmp_path_factory: pytest.TempPathFactory) -> Config:
    """An invented brewery of a dozen lots, taken in; its beer is at rest."""
    config = load_config(make_brewery(tmp_path_factory.mktemp("plan") / "b", "Quillmoor", 5))
    ingest(config, [].append)
    return config


def told(config: Config, asked: Asked) -> str:
    """Give what is said of a study, a line each."""
    said: list[str] = []
    make_plan(config, asked, said.append)
    return "\n".join(said)


def put(config: Config, **files: str) -> Config:
    """Put other tables into the small brewery's inbox, and take them in."""
    for table, text in files.items():
        (config.paths.inbox / f"{table}.csv").write_text(text, encoding="utf-8")
    ingest(config, [].append)
    return config


def test_the_command_says_what_a_study_would_bring(loaded: Config) -> None:
    """Today's days, the study, the bounds after it, the wish, additions, pressure, cautions."""
    done = CliRunner().invoke(
        app,
        [
            *("plan", "--style", "stout", "--format", "bottle 500", "--studies", "20"),
            *("--begin", "2027-01-11", "--temperatures", "20,30", "--pulls", "20:28,56,84"),
            *("--pulls", "14,28", "--lots", "2", "--assessors", "6", "--attendance", "0.5"),
            *("--wish", "7", "--config", str(loaded.folder / "stalecurve.toml")),
        ],
    )
    assert done.exit_code == 0, done.output
    said = done.stdout.splitlines()
    assert said[0].startswith("stout, bottle 500, kept as 'ambient' says (about 21 °C): today ")
    assert said[1] == (
        "The study: 2 lots, at 20 °C pulls on day 28, 56 and 84; at 30 °C pulls on day 14 and 28; "
        "6 tasters, 50 % of whom come. 10 samples, 4 sittings with a fresh control, 14 packages; "
        "8 Feb 2027 to 5 Apr 2027."
    ).replace("8 Feb 2027 to", "11 Jan 2027 to")
    assert said[2].startswith("In 20 simulated studies the bounds end ")
    (wish,) = (line for line in said if line.startswith("A date of 7 days at about 21 °C: today "))
    assert wish.endswith("in all 20, so in at least 86 % of such studies.")
    assert any(line.lstrip().startswith("a third lot ") for line in said)
    assert any(line.startswith("  30 °C: ") and line.endswith("within the limit") for line in said)
    assert BURST in said
    assert said[-1] == "Tasting is drinking: small pours, spitting, nobody obliged, nobody driving."
    assert MAY_RISE not in said


def test_a_wish_beyond_reach_is_never_called_impossible(loaded: Config) -> None:
    """None of 20 may still be one in seven; the cap that holds the date back is said."""
    file = loaded.folder / "capped.toml"
    text = '[brewery]\nname = "Quillmoor"\n[policy]\ncap_days = 28\n'
    file.write_text(text, encoding="utf-8")
    asked = replace(STOUT, wish_days=2000, studies=20, temperatures=(20.0,), pulls={None: (28,)})
    said = told(load_config(file), asked).splitlines()
    assert (
        "A date of 2000 days at about 21 °C: today 28 are supported; the study supports it in none "
        "of 20, so in at most 14 % of such studies; the policy's own cap ends it first."
    ) in said


def test_kegs_never_go_into_the_warm_cupboard(loaded: Config) -> None:
    """Their warm storage is said and left out, also among the additions; alone it is refused."""
    said = told(loaded, Asked("stout", "keg 30", studies=2, temperatures=(8.0, 30.0)))
    left_out = "left out of the study: kegs and casks are never put in the warm cupboard"
    assert re.search(rf"^  30 °C: \d\.\d bar, within the limit, {left_out}", said, re.MULTILINE)
    (study,) = (line for line in said.splitlines() if line.startswith("The study: "))
    assert "at 8 °C pulls" in study
    assert "30 °C" not in study
    assert "storage at 38 °C" not in said
    assert "  storage at 4 °C " in said
    with pytest.raises(StoreError, match=r"nothing is left .*warm cupboard.*: name other --temp"):
        told(loaded, Asked("stout", "keg 30", studies=2, temperatures=(30.0,)))


def test_above_forty_degrees_the_study_is_warned_of(loaded: Config) -> None:
    """Beer ages otherwise there, and nothing is near the trade's own temperature."""
    said = told(loaded, replace(STOUT, temperatures=(45.0,)))
    assert "Above 40 °C beer ages in ways that it does not take on the shelf" in said
    assert "No storage of the study is near 21 °C, where the beer waits to be drunk" in said
    cool = told(loaded, replace(STOUT, temperatures=(20.0,)))
    assert "Above 40 °C" not in cool
    assert "No storage of the study is near" not in cool
    assert BURST not in cool


@pytest.mark.parametrize(
    ("live", "why"),
    [("", "Whether it holds live yeast or sugar is not known"), ("yes", "It holds live yeast")],
)
def test_beer_that_may_referment_is_not_forced_in_glass(
    brewery: Config, live: str, why: str
) -> None:
    """With live yeast, or where nobody said: no limit is said to hold, and the warm is left out."""
    config = put(
        brewery,
        beers=f"beer,style,abv_pct,live_yeast_or_sugar\nFen Pale,pale ale,5.0,{live}\n",
        formats="format,kind,volume_ml,headspace_ml,pressure_limit_bar\ncan 330,bottle,330,12,7\n",
        lots="lot,format,beer,packaged_on,co2_volumes\n001,can 330,Fen Pale,2026-01-05,2.6\n",
    )
    said = told(config, replace(PALE, temperatures=(20.0, 30.0)))
    assert why in said
    assert MAY_RISE in said
    assert "bar, within the limit" not in said
    assert "left out of the study: beer that may referment is not forced in glass" in said
    assert BURST in said


def test_before_any_tasting_all_is_assumed_and_said_to_be(brewery: Config) -> None:
    """The first study can be planned too; without CO2 it says which columns would tell of it."""
    (brewery.paths.inbox / "tastings.csv").unlink()
    ingest(brewery, [].append)
    said = told(brewery, PALE)
    assert "There is no estimate yet (" in said
    assert "all of this is assumed, nothing measured." in said
    assert "The pressure in the warm is not known: no lot of it has co2_volumes" in said


def test_beer_of_little_alcohol_is_refused(brewery: Config) -> None:
    """A study of staling does not validate its safety; nor does an empty cellar hide that."""
    beers = "beer,style,abv_pct\nFen Pale,pale ale,5.0\nFen Thin,table beer,1.2\n"
    config = put(brewery, beers=beers)
    with pytest.raises(StoreError, match="Safety of low- and no-alcohol beer must be validated"):
        told(config, replace(PALE, style="table beer"))


@pytest.mark.parametrize(
    ("asked", "message"),
    [
        ({"style": "stuot"}, "the table beers has no style stuot: did you mean stout"),
        ({"format": "botle 500"}, "the table formats has no format botle 500: did you mean bottle"),
        ({"route": "ambiemt"}, "the table routes has no route ambiemt: did you mean ambient"),
        ({"route": "on-trade keg"}, "the route on-trade keg does not take a bottle"),
        ({"named": ("25318-6",)}, "there is no lot 25318-6 of stout in .*did you mean 25318-06"),
        ({"named": ("25318-06",) * 2}, "2 lots are named and 3 asked for: name each once"),
        (
            {"temperatures": (20.0,), "pulls": {25.0: (28,)}},
            r"--pulls names 25 °C, which is no storage of this study \(20 °C\)",
        ),
    ],
)
def test_what_the_store_does_not_have_is_refused(
    loaded: Config, asked: dict[str, object], message: str
) -> None:
    """With the nearest that it has, before anything is fitted."""
    with pytest.raises(StoreError, match=message):
        told(loaded, replace(STOUT, **asked))


def test_a_foreseen_failure_is_one_line_and_exit_code_one(
    loaded: Config, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """On standard error."""
    line = ["stalecurve", "plan", "--style", "stuot", "--format", "bottle 500"]
    config = ["--config", str(loaded.folder / "stalecurve.toml")]
    monkeypatch.setattr("sys.argv", [*line, *config])
    with pytest.raises(SystemExit) as ended:
        main()
    assert ended.value.code == 1
    said = capsys.readouterr().err
    assert said == "stalecurve: the table beers has no style stuot: did you mean stout?\n"


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (["--temperatures", "warm"], "expected storages in °C from -5 to 60"),
        (["--temperatures", "20,99"], "expected storages in °C from -5 to 60"),
        (["--temperatures", "nan"], "expected storages in °C from -5 to 60"),
        (["--pulls", "28,x"], "expected days from 1 to 3650"),
        (["--pulls", "0,28"], "expected days from 1 to 3650"),
        (["--pulls", "20:28,99999999"], "expected days from 1 to 3650"),
        (["--pulls", "28", "--pulls", "56"], "name each storage once"),
        (["--pulls", "99:28"], "expected days from 1 to 3650"),
        (["--lots", "0"], "--lots"),
    ],
)
def test_options_that_make_no_sense_are_wrong_usage(
    loaded: Config, options: list[str], message: str
) -> None:
    """Exit code 2, and what was expected."""
    line = ["plan", "--style", "stout", "--format", "bottle 500", *options]
    done = CliRunner().invoke(app, [*line, "--config", str(loaded.folder / "stalecurve.toml")])
    assert done.exit_code == 2
    words = " ".join(done.output.replace("│", " ").split())
    assert message in words


def test_without_a_store_nothing_can_be_planned(brewery: Config) -> None:
    """The sentence says what to run first."""
    with pytest.raises(StoreError, match="run stalecurve load first"):
        make_plan(brewery, PALE, [].append)


def test_the_calendar_comes_back_as_samples(brewery: Config) -> None:
    """Row for row; and it never takes the place of a file, nor repeats a sample's number."""
    ingest(brewery, [].append)
    to = brewery.folder / "pulls.xlsx"
    asked = replace(
        PALE,
        lots=1,
        named=("001",),
        temperatures=(4.0, 20.0),
        pulls={4.0: (60, 90), 20.0: (28, 60)},
        calendar=to,
    )
    said = told(brewery, asked).splitlines()
    assert said[-1] == f"{to}: 4 samples to pull; save it in {brewery.paths.inbox} then"
    kept = to.read_bytes()
    with pytest.raises(ReadError, match=r"pulls.xlsx is there already and was left as it is"):
        told(brewery, asked)
    assert to.read_bytes() == kept
    (brewery.paths.inbox / "pulls.xlsx").write_bytes(kept)
    summary: list[str] = []
    ingest(brewery, summary.append)
    with open_store(brewery.paths.database, read_only=True) as connection:
        rows = connection.sql(
            "SELECT sample, lot, format, storage_temp_c, placed_on, pulled_on, "
            "before_placing_temp_c, role FROM core.samples WHERE placed_on >= DATE '2027-01-01' "
            "ORDER BY sample"
        ).fetchall()
    assert rows == [
        (f"270111-A0{n}", "001", "can 330", temp_c, BEGINS, BEGINS + timedelta(days), 4.0, "aged")
        for n, (days, temp_c) in enumerate([(28, 20.0), (60, 4.0), (60, 20.0), (90, 4.0)], start=1)
    ], summary
    told(brewery, replace(asked, calendar=brewery.folder / "more.xlsx"))
    (brewery.paths.inbox / "more.xlsx").write_bytes((brewery.folder / "more.xlsx").read_bytes())
    ingest(brewery, [].append)
    with open_store(brewery.paths.database, read_only=True) as connection:
        query = "SELECT count(*) FROM core.samples WHERE placed_on >= DATE '2027-01-01'"
        assert connection.sql(query).fetchall() == [(8,)]


def test_lots_that_are_not_packed_are_left_to_fill(brewery: Config) -> None:
    """Their rows wait aside; what no workbook can be is refused before the simulations."""
    ingest(brewery, [].append)
    to = brewery.paths.inbox / "pulls.xlsx"
    asked = replace(PALE, lots=2, named=("001",), temperatures=(20.0,), pulls={None: (28,)})
    said = told(brewery, replace(asked, calendar=to))
    assert "2 samples to pull; fill in the lot; save it in" in said
    ingest(brewery, [].append)
    with open_store(brewery.paths.database, read_only=True) as connection:
        query = "SELECT sample FROM core.samples WHERE sample LIKE '270111-%'"
        assert connection.sql(query).fetchall() == [("270111-A01",)]
    with pytest.raises(ReadError, match=r"pulls.csv is no name of a workbook: let it end in .xlsx"):
        told(brewery, replace(asked, calendar=brewery.folder / "pulls.csv"))
    with pytest.raises(ReadError, match=r"cannot be written: No such file or directory"):
        told(brewery, replace(asked, calendar=brewery.folder / "nowhere" / "pulls.xlsx"))


def test_the_best_addition_is_named_by_packages_by_sittings_and_by_days() -> None:
    """Each once: what is free is said to be, what is scatter is not named."""
    free = Neighbour("two tasters", 1.0, 0.1, 0, 0)
    lot = Neighbour("a fourth lot", 4.0, 0.1, 8, 0)
    warm = Neighbour("storage at 30 °C", 6.0, 0.1, 40, 5)
    scatter = Neighbour("a last pull", 9.0, 9.0, 8, 1)
    assert list(additions_lines([free, lot, warm, scatter]))[-3:] == [
        "Adding two tasters narrows the date by 1 day for no more packages or sittings.",
        "For its sittings a fourth lot helps most: 4 days for 8 packages.",
        "Most of all storage at 30 °C narrows it: by 6 days, for 40 packages and 5 sittings.",
    ]
    assert list(additions_lines([lot]))[-1] == (
        "Adding a fourth lot narrows the date by 4 days for 8 packages; for its packages it helps "
        "most."
    )
    (*_, none) = additions_lines([scatter])
    assert none.startswith("None of them narrows the date by a day")
