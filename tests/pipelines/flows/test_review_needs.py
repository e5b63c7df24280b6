"""What of a quarter needs a decision, and in which order."""

from __future__ import annotations

from typing import Any

from pipelines.flows.review_needs import needs_of


def date(beer: str, format_: str, days: int, packages: int | None) -> dict[str, Any]:
    """Return a printed date that is too long."""
    return {"beer": beer, "format": format_, "days": days, "packages": packages}


def record(**changes: object) -> dict[str, Any]:
    """Return the parts of a record that decisions come from, all of them quiet."""
    return {
        "before": "2026-Q2",
        "complaints": {"safety": [], "told": []},
        "unvalidated": [],
        "too_long": [],
        "oxygen": {"rows": []},
        "heads": [],
        "meters": {"rows": []},
        "retained": {"rows": []},
        "panel": {"failed": [], "apart": []},
        "actions": [],
        **changes,
    }


def test_nothing_is_needed_in_a_quiet_quarter() -> None:
    """Changes downwards, noise, what passed, what was done: none of them asks for anything."""
    assert needs_of(record()) == []
    assert needs_of(
        record(
            oxygen={"rows": [{"finding": "less"}, {"finding": "noise"}]},
            meters={"rows": [{"meter": "M1", "failed": 0}]},
            retained={"rows": [{"finding": "kept"}, {"finding": "too few"}]},
            panel={"failed": [], "apart": [{"code": "T1", "follows": True, "drift": "drifts"}]},
            actions=[{"state": "done"}, {"state": "dropped"}],
        )
    ) == []  # fmt: skip


def test_days_times_packages_decide_the_order() -> None:
    """Safety first, then most at stake; what has neither days nor packages stands last."""
    needs = needs_of(
        record(
            complaints={"safety": [{"complaint": "K1"}], "told": []},
            unvalidated=[{"beer": "Small", "format": "can", "packages": 1}],
            too_long=[date("Ale", "can", 10, 1000), date("Stout", "can", 60, 100)],
            heads=[{"head": "3", "days": 7.0, "packages": 1000}],
            actions=[{"state": "agreed", "action_id": 1}],
            meters={"rows": [{"meter": "M2", "failed": 1, "packages": 6500}]},
        )
    )
    assert [need.get("beer") or need.get("head") or need["kind"] for need in needs] == [
        "safety complaints",
        "Small",
        "Ale",  # 10 000
        "3",  # 7 000
        "meter",  # 6 500
        "Stout",  # 6 000
        "action open",
    ]


def test_one_beer_is_one_decision() -> None:
    """Its formats stand in it, and the days are weighted by their packages."""
    (need,) = needs_of(record(too_long=[date("Ale", "can", 10, 300), date("Ale", "keg", 50, 100)]))
    assert (need["days"], need["packages"], len(need["of"])) == (20.0, 400, 2)
    (unknown,) = needs_of(
        record(too_long=[date("Ale", "can", 10, None), date("Ale", "keg", 50, None)])
    )
    assert (unknown["days"], unknown["packages"]) == (50, None)


def test_a_lot_that_did_not_keep_is_told_once() -> None:
    """Where the date itself is too long, that says it."""
    lot = {"finding": "did not keep", "beer": "Ale", "format": "can", "packages": 10}
    assert [n["kind"] for n in needs_of(record(retained={"rows": [lot]}))] == ["not kept"]
    both = record(retained={"rows": [lot]}, too_long=[date("Ale", "can", 10, 10)])
    assert [n["kind"] for n in needs_of(both)] == ["date too long"]
