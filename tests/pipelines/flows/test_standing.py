"""Whether a new run is due."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from pipelines.flows.fit import fit
from pipelines.flows.ingest import ingest
from pipelines.flows.standing import standing_run

if TYPE_CHECKING:
    from pipelines.config import Config


def test_a_run_stands_until_data_or_settings_change(brewery: Config) -> None:
    """The newest run is given while it would come out the same, for whatever is due none."""
    assert standing_run(brewery) is None
    ingest(brewery, [].append)
    assert standing_run(brewery) is None
    run_id = fit(brewery, [].append).run_id
    assert standing_run(brewery) == run_id

    surer = replace(brewery, policy=replace(brewery.policy, confidence=0.95))
    assert standing_run(surer) is None

    text = (brewery.paths.inbox / "tastings.csv").read_text(encoding="utf-8")
    (brewery.paths.inbox / "tastings-saved-anew.csv").write_text(f"{text}\n", encoding="utf-8")
    ingest(brewery, [].append)
    assert standing_run(brewery) == run_id

    more = f"{text}T2,2026-02-06,A1,S1,reject\n"
    (brewery.paths.inbox / "tastings-more.csv").write_text(more, encoding="utf-8")
    ingest(brewery, [].append)
    assert standing_run(brewery) is None
