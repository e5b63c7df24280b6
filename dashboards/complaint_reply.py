"""The draft of a reply to a complaint: no cause, no blame, no promise, nothing of anybody else.

It is never sent. It does not say that anything is safe to drink, and it offers nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from dashboards import complaint_words as said
from dashboards import words

if TYPE_CHECKING:
    from collections.abc import Iterator

Cells = dict[str, Any]

HEADING = "Draft – not sent"


def draft(record: Cells) -> tuple[str, ...]:
    """Return the paragraphs of the draft."""
    return tuple(_paragraphs(record))


def _paragraphs(record: Cells) -> Iterator[str]:
    asked = record["asked"]
    yield "Dear …,"
    about = _about(record)
    yield (
        f"thank you for telling us on {said.day(asked['received_on'])} about {about}. We are sorry "
        "that it was not as you expected, and we take it seriously."
    )
    number = f" under the number {asked['complaint']}" if asked["complaint"] else ""
    yield (
        f"We have written it down{number} and are looking at our records of that beer, from the "
        "day it was packaged."
    )
    asks = _asks(asked)
    if asks:
        yield f"It would help us to know {words.listed(asks)}."
    yield (
        "If you still have a package that is not opened, please keep it upright in a cool, dark "
        "place and do not throw it away: we would like to arrange how it comes back to us."
    )
    yield (
        "If anybody felt unwell or was hurt, or if something was in the package, please tell us at "
        "once and drink no more of it."
    )
    yield "We will write to you again when we have looked."
    yield f"Yours sincerely, … , {record['brewery']}"


def _about(record: Cells) -> str:
    asked, known = record["asked"], record["known"]
    beer, format_ = asked["beer"], asked["format"]
    if known is not None and asked["lot"] and record["lot_is_ours"]:
        beer, format_ = known["lot"]["beer"], known["lot"]["format"]
    beer = beer or "our beer"
    packed = f", {format_}" if format_ else ""
    lot = f", lot {asked['lot']}" if asked["lot"] else ""
    return f"{beer}{packed}{lot}"


def _asks(asked: Cells) -> list[str]:
    wanted = (
        ("lot", "the code and the date printed on the package"),
        ("bought_on", "on which day and where you bought it"),
        ("opened_on", "on which day you opened it"),
        ("storage_temp_c", "where it was kept until then"),
    )
    return [words_ for name, words_ in wanted if asked[name] is None]
