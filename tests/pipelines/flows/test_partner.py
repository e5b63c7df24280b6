"""Pages for a partner, searched for everything of everybody else."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

import polars as pl
import pytest
from typer.testing import CliRunner

from data_demo.simulate import simulate
from pipelines.cli import app
from pipelines.config import load_config
from pipelines.errors import StoreError
from pipelines.flows.fit import fit
from pipelines.flows.ingest import ingest
from pipelines.flows.partner import publish_partner
from pipelines.readers.contract import TABLES

if TYPE_CHECKING:
    from pathlib import Path

    from pipelines.config import Config

PARTNER, RIVAL, SMALL = "Seventh Siding Taproom", "Weir & Daughters", "Halfpint House"
BEER = "Siding Pale"
OWNERS = {BEER: PARTNER, "Pale No. 2": RIVAL, "Small Lager No. 5": SMALL}
CONFIGURATION = """
[brewery]
name = "Quillmoor"
[customers."Gannet Stores"]
minimum_days = 30
"""


@pytest.fixture(scope="module")
def tables() -> dict[str, pl.DataFrame]:
    """A whole simulated brewery that brews for three others; two of them share a style."""
    made = simulate(5, lots_per_cell=1, assessors=5, packages=(3, 4))
    owner = pl.col("beer").replace_strict(OWNERS, default=None, return_dtype=pl.String)
    return {**made, "beers": made["beers"].with_columns(owner=owner)}


@pytest.fixture(scope="module")
def config(tables: dict[str, pl.DataFrame], tmp_path_factory: pytest.TempPathFactory) -> Config:
    """That brewery with a run."""
    folder = tmp_path_factory.mktemp("partner")
    (folder / "inbox").mkdir()
    for name, frame in tables.items():
        columns = [column.name for column in TABLES[name].columns]
        frame.select(columns).write_parquet(folder / "inbox" / f"{name}.parquet")
    (folder / "stalecurve.toml").write_text(CONFIGURATION, encoding="utf-8")
    made = load_config(folder / "stalecurve.toml")
    ingest(made, [].append)
    fit(made, [].append)
    newest = tables["lots"]["packaged_on"].max()
    return replace(made, as_of=newest)


@pytest.fixture(scope="module")
def folder(config: Config) -> Path:
    """The pages for one of them."""
    return publish_partner(config, PARTNER, None, [].append)


def written(folder: Path) -> dict[str, str]:
    """Give every page and file that tells of beer; scripts and the style sheet tell of none."""
    return {
        path.name: path.read_text(encoding="utf-8").replace("\N{NO-BREAK SPACE}", " ")
        for path in folder.rglob("*")
        if path.suffix in {".html", ".csv"}
    }


def own_complaints(tables: dict[str, pl.DataFrame]) -> set[str]:
    """Give the complaints about the partner's lots, those too that only the printed date tells."""
    own = tables["lots"].filter(pl.col("beer") == BEER)
    told = tables["complaints"].filter(
        pl.col("lot").is_in(own["lot"].to_list())
        | (
            pl.col("lot").is_null()
            & pl.col("printed_date").is_in(own["best_before"].drop_nulls().to_list())
        )
    )
    return set(told["complaint"])


def names_of_others(tables: dict[str, pl.DataFrame]) -> set[str]:
    """Give every name and number in the brewery's tables that is not the partner's."""
    own = tables["lots"].filter(pl.col("beer") == BEER)["lot"].to_list()
    mine = pl.col("lot").is_in(own)
    found = {RIVAL, SMALL, "Gannet Stores", *(f"{name}.parquet" for name in tables)}
    for table, column in (
        *(("lots", name) for name in ("lot", "line", "packaged_by", "printed_code")),
        *(("samples", "sample"), ("shipments", "shipment"), ("oxygen", "meter")),
    ):
        frame = tables[table]
        of_others = frame.filter(~mine) if column not in {"line", "packaged_by", "meter"} else frame
        found |= set(of_others[column].drop_nulls().cast(pl.String))
    found |= set(tables["beers"]["beer"]) - {BEER}
    found |= set(tables["assessors"]["assessor"])
    found |= set(tables["tastings"]["session"])
    found |= set(tables["shipments"]["customer"].drop_nulls())
    found |= set(tables["complaints"]["complaint"]) - own_complaints(tables)
    return found - {PARTNER}  # who is a customer too


def test_nothing_of_others_stands_anywhere(folder: Path, tables: dict[str, pl.DataFrame]) -> None:
    """No other beer, lot, sample, owner, customer, assessor, session, line, meter or file."""
    texts = written(folder)
    names = names_of_others(tables)
    assert len(names) > 200
    assert {"index.html", "stock.html", "label.html", "style-pale-ale.html"} <= set(texts)
    for file, text in texts.items():
        said = set(re.findall(r"[^\s<>\",;:()“”]+", text))
        for name in names:
            whole = re.search(rf"(?<![\w-]){re.escape(name)}(?![\w-])", text)
            assert name not in said, (file, name)
            assert whole is None, (file, name)


def test_what_is_the_partners_does_stand_there(
    folder: Path, tables: dict[str, pl.DataFrame]
) -> None:
    """Every lot with its oxygen, the dates with their temperature, and whence they borrow."""
    texts = written(folder)
    lots = tables["lots"].filter(pl.col("beer") == BEER)["lot"].unique().to_list()
    assert lots
    assert all(lot in texts["lots.csv"] for lot in lots)
    until = tables["lots"]["packaged_on"].max()
    known = tables["complaints"].filter(pl.col("received_on") <= until)
    named = known.filter(pl.col("lot").is_in(lots))["complaint"].to_list()
    assert named
    assert all(complaint in texts["complaints.csv"] for complaint in named)
    assert set(pl.read_csv(folder / "data/complaints.csv")["outlet"]) == {None}
    assert re.search(r"ends at \d+ °C", texts["index.html"])
    assert "they borrow from beers of others too" in texts["index.html"]
    own = tables["tastings"].join(
        tables["samples"].filter(pl.col("lot").is_in(lots), pl.col("role").ne_missing("control")),
        on="sample",
        how="semi",
    )
    counted = re.search(r"from run 1 of .*?: ([\d,]+) verdicts? on", texts["index.html"])
    assert counted is not None
    assert int(counted[1].replace(",", "")) <= own.height < tables["tastings"].height


def test_every_link_leads_to_a_file(folder: Path) -> None:
    """No page points to one that the partner does not get."""
    for file, text in written(folder).items():
        for target in re.findall(r'(?:href|src)="([^"#]+)', text):
            assert (folder / target).is_file(), (file, target)


def test_a_beer_without_a_validation_does_not_borrow_its_styles_date(
    config: Config, tmp_path: Path
) -> None:
    """A low-alcohol lager has no date, nor a page of a style whose other lagers have one."""
    made = publish_partner(config, SMALL, tmp_path / "small", [].append)
    texts = written(made)
    assert "validated separately" in texts["index.html"]
    assert not any(name.startswith("style-") for name in texts)
    days = pl.read_csv(made / "data" / "dates.csv")["supported_days"]
    assert days.null_count() == len(days) > 0


def test_an_unknown_owner_is_told_the_nearest_and_all(config: Config, tmp_path: Path) -> None:
    """One plain message, and nothing is written."""
    with pytest.raises(StoreError, match=r"no beer is brewed for Seventh Sidng .*did you mean Sev"):
        publish_partner(config, "Seventh Sidng Taproom", tmp_path / "p", [].append)
    assert not (tmp_path / "p").exists()


def test_the_brewerys_own_pages_are_never_written_to(config: Config) -> None:
    """Neither they, nor a folder within, nor one around them."""
    pages = config.paths.pages
    for folder in (pages, pages / "partner", pages.parent):
        with pytest.raises(StoreError, match="where the brewery's own pages are"):
            publish_partner(config, PARTNER, folder, [].append)
    assert not pages.exists()


def test_the_command_names_the_folder(config: Config, tmp_path: Path) -> None:
    """`--to` alone is wrong usage: the brewery's pages stay where they are."""
    file = ["--config", str(config.folder / "stalecurve.toml")]
    line = ["publish", *file, "--to", str(tmp_path / "out")]
    done = CliRunner().invoke(app, [*line, "--owner", RIVAL])
    assert done.exit_code == 0
    assert "of Pale No. 2 and no other beer" in done.output
    assert (tmp_path / "out" / "index.html").is_file()
    assert CliRunner().invoke(app, line).exit_code == 2
