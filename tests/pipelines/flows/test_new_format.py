"""Asking for the date of a format that was never filled."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from typer.testing import CliRunner

from analysis.dating.new_format import NewFormat
from dashboards.pages.new_format import file_of
from pipelines.cli import app
from pipelines.config import load_config
from pipelines.errors import StoreError
from pipelines.flows.fit import fit
from pipelines.flows.ingest import ingest
from pipelines.flows.new_format import answer_new_format
from pipelines.flows.publish import publish
from pipelines.store.connect import open_store

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from pipelines.config import Config

CAN = NewFormat("slim can", "can", 330.0, oxygen=(62.0, 58.0, 71.0))


@pytest.fixture(scope="module")
def fitted(make_brewery: Callable[..., Path], tmp_path_factory: pytest.TempPathFactory) -> Config:
    """An invented brewery of a dozen lots with a run and pages."""
    config = load_config(make_brewery(tmp_path_factory.mktemp("new") / "b", "Quillmoor", 5))
    ingest(config, [].append)
    fit(config, [].append)
    publish(config, [].append)
    return config


def asked(config: Config, query: str) -> list[tuple[object, ...]]:
    """Ask the store."""
    with open_store(config.paths.database, read_only=True) as connection:
        return connection.sql(query).fetchall()


def test_each_style_and_route_has_a_line_with_its_temperature(fitted: Config) -> None:
    """And what is data, what is assumed, what is most like it, and which study would tell."""
    said: list[str] = []
    page = answer_new_format(CAN, (), 12.0, fitted, said.append)
    ((places,),) = asked(fitted, "SELECT count(*) FROM this_week.new_format_dates")
    lent = [line for line in said if line.split(" in slim can, kept as ")[1:]]
    assert len(lent) == places > 3
    assert all("°C)" in line for line in lent)
    told = "\n".join(said)
    assert "Treat as a trial" in told
    assert "  Its oxygen: 3 readings, taken as packages of one lot: 63 ppb" in told
    assert "  What the package itself does to the beer" in told
    assert "Most like it is can 440, distance" in told
    assert "stalecurve plan" in told
    assert page.name == file_of("slim can")
    assert "Treat as a trial" in page.read_text(encoding="utf-8")


def test_publishing_makes_the_page_anew_until_the_format_is_filled(fitted: Config) -> None:
    """The newest question of a name counts; a format in the table formats needs none."""
    answer_new_format(replace(CAN, oxygen=(90.0,)), (), None, fitted, [].append)
    publish(fitted, [].append)
    page = fitted.paths.pages / file_of("slim can")
    assert "1 reading, taken as packages of one lot: 90 ppb" in page.read_text(encoding="utf-8")
    file = fitted.paths.inbox / "formats more.csv"
    file.write_text("format,kind,volume_ml,headspace_ml\nslim can,can,330,12\n", encoding="utf-8")
    ingest(fitted, [].append)
    publish(fitted, [].append)
    assert not page.exists()
    file.unlink()


def test_without_a_reading_the_oxygen_is_said_to_be_assumed(fitted: Config) -> None:
    """That of the format most like it, and how far off it may be."""
    said: list[str] = []
    answer_new_format(NewFormat("big can", "can", 500.0), ("stout",), None, fitted, said.append)
    assert any("Its oxygen, for none was read: that of can 440" in line for line in said)
    assert all("stout in big can" in line for line in said if "kept as" in line)


@pytest.mark.parametrize(
    ("name", "kind", "style", "message"),
    [
        ("can 440", "can", (), "can 440 is a format of the brewery: its dates stand on the pages"),
        ("x", "can", ("stuot",), "no verdicts on aged stuot .* did you mean stout"),
        ("x", "plastic keg", (), "no route carries the kind plastic keg"),
    ],
)
def test_what_no_date_can_be_lent_to_is_said(
    fitted: Config, name: str, kind: str, style: tuple[str, ...], message: str
) -> None:
    """One plain message, and the question is not kept."""
    before = asked(fitted, "SELECT count(*) FROM results.new_format_questions")
    with pytest.raises(StoreError, match=message):
        answer_new_format(NewFormat(name, kind, 330.0), style, None, fitted, [].append)
    assert asked(fitted, "SELECT count(*) FROM results.new_format_questions") == before


def test_before_the_first_run_nothing_can_be_lent(brewery: Config) -> None:
    """The message says what to run."""
    with pytest.raises(StoreError, match="run stalecurve load first"):
        answer_new_format(CAN, (), None, brewery, [].append)
    ingest(brewery, [].append)
    with pytest.raises(StoreError, match="run stalecurve run first"):
        answer_new_format(CAN, (), None, brewery, [].append)


def test_readings_may_follow_one_another_on_the_line(fitted: Config) -> None:
    """As in 62 58 71, or with commas; what is no reading, or no kind, is wrong usage."""
    line = ["new-format", "tin", "--kind", "can", "--volume", "330"]
    config = ["--config", str(fitted.folder / "stalecurve.toml")]
    for readings in (["62", "58", "71"], ["62,58,71"]):
        done = CliRunner().invoke(app, [*line, "--oxygen", *readings, *config])
        assert done.exit_code == 0
        assert "3 readings, taken as packages of one lot: 63 ppb" in done.output
    for wrong in (["--oxygen", "6o"], ["--oxygen", "-4"], ["stray"], ["--kind", "cam"]):
        assert CliRunner().invoke(app, [*line, *wrong, *config]).exit_code == 2
