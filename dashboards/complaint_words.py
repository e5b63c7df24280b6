"""What an answer to a complaint says in words, on its page and on the terminal."""

from __future__ import annotations

from datetime import date
from typing import Any

from dashboards import words

Cells = dict[str, Any]

CAUSES = {
    "date too long": "our date is too long",
    "high oxygen": "this lot took up more oxygen than its line does",
    "warm trade": "it was kept warmer than its route says",
    "both": "it took up more oxygen and was kept warmer, both",
    "light": "light got to it",
    "dispense": "it was dispensed so: the line, the gas or a keg open too long",
    "past its date": "it was drunk after its date",
}
MEANS = {
    "date too long": "an ordinary lot, kept as its route says, aged as usual within its date",
    "high oxygen": "kept as its route says",
    "warm trade": "an ordinary lot",
    "both": "the two together",
    "light": "an ordinary lot",
    "dispense": "an ordinary lot; kegs and casks alone",
    "past its date": "an ordinary lot, kept as its route says",
}
ONLY_THESE = (
    "These odds compare only the causes listed. They are not the chance of each, and no proof "
    "against anyone."
)
STOP = (
    "Stop. This is a matter of food safety, not of freshness: hand it to the food-safety lead now."
)
WHAT_TO_DO = (
    "Hand it to the food-safety lead at once, day or night, with the complaint as it was told.",
    (
        "Ask the customer to stop drinking it, to keep the package with what is left, closed and "
        "apart, and to keep others of the same lot apart."
    ),
    (
        "Do not taste it, and let nobody taste it: not what came back, and no retained sample of "
        "the lot, until that lead releases it."
    ),
    (
        "Is somebody ill or hurt? A doctor first. What burst or gushes may burst again: gloves, "
        "eye protection, no face above it."
    ),
    "Hold what is left of the lot in house until that lead says otherwise.",
)

_WORTH_ASKING = 0.05  # chance of deciding
_LIKELY = (
    (0.95, "almost sure among these"),
    (0.80, "likely"),
    (0.50, "more likely than not"),
    (0.20, "may well be"),
    (0.05, "unlikely"),
    (0.0, "hardly"),
)
_ENOUGH_TO_SAY = 0.10
_EVEN = 0.5


def day(text: str | None) -> str:
    """Return a day of a record as `7 Apr 2026`."""
    return words.NOTHING if text is None else words.day(date.fromisoformat(text[:10]))


def subject(record: Cells) -> str:
    """Return what the complaint is called: `Complaint K012`."""
    name = record["asked"]["complaint"]
    return f"Complaint {name}" if name else "A complaint typed in"


def likely(share: float) -> str:
    """Return a chance among the causes in words."""
    return next(word for least, word in _LIKELY if share >= least)


def between(lower: float, upper: float) -> str:
    """Return the bounds of a chance: `10 % to 47 %`, one of them where both read alike."""
    return " to ".join(dict.fromkeys((words.chance(lower), words.chance(upper))))


def in_odds(share: float) -> str:
    """Return a chance as odds: `24 to 1`, `1 to 8`, `even`."""
    if not 0.001 < share < 0.999:  # noqa: PLR2004 - beyond it nobody knows
        return "1 to 1000 or less" if share < _EVEN else "1000 to 1 or more"
    ratio = share / (1.0 - share)
    if 0.9 < ratio < 1.1:  # noqa: PLR2004
        return "even"
    more = max(ratio, 1.0 / ratio)
    figure = words.whole(more) if more >= 10 else f"{more:.1f}".removesuffix(".0")  # noqa: PLR2004
    return f"{figure} to 1" if ratio > 1.0 else f"1 to {figure}"


def answer(record: Cells) -> tuple[str, ...]:
    """Return the answer in three sentences or fewer."""
    if record["safety"]:
        return (STOP,)
    if record["known"] is None:
        return (_no_lot(record), _ask_for_the_lot())
    if record["why_not"]:
        said = [words.sentence(f"No odds are given: {record['why_not']}")]
        return (*said, *_of_age(record))
    return (_verdict(record), _because(record), _next(record))


def _no_lot(record: Cells) -> str:
    lot = record["asked"]["lot"]
    if lot and not record["lot_is_ours"]:
        return f"Lot {lot} is not one of ours as it is written, and too many of ours may be meant."
    if not record["candidates"]:
        return "No lot of ours fits what was told: beer, format, printed date and day disagree."
    return "Which lot it is cannot be said: too many fit what was told."


def _ask_for_the_lot() -> str:
    return (
        "Ask for the code and the date printed on the package, or a picture of them; until then "
        "nothing can be said about its age."
    )


def _of_age(record: Cells) -> list[str]:
    known = record["known"]
    age = known["day"]["age_days"]
    about = "" if known["day"]["told"] == "opened" else "about "
    said = [f"It was {about}{words.days(age)} old when it was opened."] if age > 0 else []
    return said if known["route"] is not None else []


def _verdict(record: Cells) -> str:
    ranked = sorted(record["odds"], key=lambda row: -row["posterior"])
    first, second = ranked[0], ranked[1]
    if record["decided"]:
        bounds = between(first["lower"], first["upper"])
        return words.sentence(
            f"Of the causes compared one stands out, that {CAUSES[first['account']]}: "
            f"{words.chance(first['posterior'])} ({bounds})"
        )
    told = [first, *([second] if second["posterior"] >= _ENOUGH_TO_SAY else [])]
    both = ", then that ".join(
        f"{CAUSES[row['account']]} ({words.chance(row['posterior'])})" for row in told
    )
    return words.sentence(
        f"It cannot be decided which cause it was: likeliest of those compared is that {both}"
    )


def _because(record: Cells) -> str:
    leader = leading(record)
    speaks = [row for row in record["items"] if row["account"] == leader]
    most = max(speaks, key=lambda row: row["factor"], default=None)
    if most is None or most["words"] == "says nothing" or most["factor"] <= 1.0:
        return "Nothing that is known of the lot speaks clearly for one cause."
    least = min(speaks, key=lambda row: row["factor"])
    against = ""
    if least["factor"] < 1.0 and least["words"] != "says nothing":
        against = f", and against it {least['item']}"
    return words.sentence(f"What speaks most for it is {most['item']}{against}")


def _next(record: Cells) -> str:
    steps = record["steps"]
    if record["decided"] or not steps:
        return "It may still have been something that is not on the list: these are odds, no proof."
    first = steps[0]
    if first["decides"] < _WORTH_ASKING:
        return words.sentence(
            "Nothing that can still be asked is likely to decide it; what moves the odds most is "
            f"{first['step']}"
        )
    return words.sentence(
        f"What would tell most is {first['step']}: it would decide it with a chance of "
        f"{words.chance(first['decides'])}"
    )


def leading(record: Cells) -> str:
    """Return the likeliest cause."""
    first = max(record["odds"], key=lambda row: row["posterior"])
    return str(first["account"])


def first_sentence(record: Cells) -> str:
    """Return the answer in one sentence, for lists."""
    return answer(record)[0].replace(words.NBSP, " ")
