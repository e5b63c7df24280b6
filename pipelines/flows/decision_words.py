"""What a decision says on the terminal."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any

from dashboards import decided, words

if TYPE_CHECKING:
    from collections.abc import Iterator

Cells = dict[str, Any]


def lines_of(record: Cells) -> list[str]:
    """Return a record in lines: what was decided, what it is held against, the share at risk."""
    return [line.replace(words.NBSP, " ") for line in _lines(record)]


def line_of(row: Cells) -> str:
    """Return one line on a row of `published.decisions`."""
    state = "holds"
    if row["superseded_by"] is not None:
        state = f"decision {row['superseded_by']} took its place"
    elif reason := decided.overtaken(row):
        state = f"overtaken: {reason}"
    return (
        f"{row['decision_id']}: {row['beer']}, {row['format']}, for {decided.place(row)}: "
        f"{words.days(row['days'])}, by {row['decided_by']} on {words.day(row['decided_at'])}; "
        f"{state}"
    ).replace(words.NBSP, " ")


def _lines(record: Cells) -> Iterator[str]:
    at = datetime.fromisoformat(record["recorded_at"])
    yield (
        f"Decision {record['decision']}: {record['beer']}, {record['format']}, for "
        f"{decided.place(record)}: {words.days(record['days'])} from packaging, by "
        f"{record['recorded_by']} on {words.day(at)}."
    )
    if record["because"]:
        yield f"Because: {record['because']}"
    yield decided.supported(record["days"], record["supported"])
    for route in record["routes"]:
        if route["at_risk"] is not None:
            yield (
                f"By then {decided.at_risk(route['at_risk'])} % of glasses would be rejected for "
                f"age, {decided.kept(route['route'], route['temp_c'])}; each bound "
                f"{words.percent(route['rule']['confidence'])} sure."
            )
        if route["best_before_days"] is None:
            yield decided.undated(route)
    if record["first_estimate"]:
        yield decided.FIRST_ESTIMATE
    for old in record["takes_the_place_of"]:
        yield (
            f"It takes the place of decision {old['decision']}: {words.days(old['days'])}, by "
            f"{old['recorded_by']} on {words.day(datetime.fromisoformat(old['recorded_at']))}."
        )
