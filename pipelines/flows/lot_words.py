"""What is said of a lot's oxygen: one line for the shift log, and what to do."""

from __future__ import annotations

from datetime import timedelta
from math import ceil, floor
from typing import TYPE_CHECKING, Any

from analysis.dating.lot_today import ENOUGH
from analysis.dating.policy import LOW_ALCOHOL_REASON

if TYPE_CHECKING:
    from datetime import date

Cells = dict[str, Any]

CANNOT_CLEAR = (
    "Measuring again tomorrow cannot clear this lot; a lower reading then is not better news."
)
_NOT_CLEARED = {"shorten", "only bounds", "too few", "no readings"}
_SAYS_NOTHING = {
    "too few": f"Too few to shorten or to clear: {ENOUGH} are needed",
    "only bounds": (
        "Such readings are lower bounds: they may condemn a lot and never clear it, and these do "
        "not condemn it"
    ),
    "no readings": "Nothing to shorten or to clear it by",
    "no route": "No route carries this kind of package, so there is no date to hold it against",
    "no estimate": "No days can be given: nothing is estimated for this style and format yet",
    "no date": "No date is printed, and the data support none",
    "no validation": LOW_ALCOHOL_REASON.removesuffix("."),
}


def answer(lot: Cells) -> str:
    """Return what was read and whether the usual date holds.

    Args:
        lot: a row of `judge_lots`.
    """
    packaged = f"{lot['beer']}, packaged {day(lot['packaged_on'])}"
    return f"{lot['lot']}, {lot['format']} ({packaged}): {_read(lot)}{_line(lot)}. {_verdict(lot)}."


def advice(lot: Cells, today: date, late_after_minutes: float) -> list[str]:
    """Return what to do, best first; nothing where the usual date stands.

    Args:
        lot: a row of `judge_lots`.
        today: the day that it is.
        late_after_minutes: after filling, up to which a reading counts.
    """
    verdict, said = lot["verdict"], []
    if lot["shorten_days"] is not None:
        said.append(_shorten(lot, today))
    if verdict == "date too long" and lot["style_days"] is not None:
        said.append(f"shorten the next label to {_days(lot['style_days'])}")
    if lot["cold_route"] is not None:
        there = f"'{lot['cold_route']}' (ends at {lot['cold_temp_c']:g} °C)"
        said.append(f"keep it in {there} only, where {_days(lot['usual_days'])} hold")
    if verdict in _NOT_CLEARED:
        few = lot["packages"] < ENOUGH
        if few and lot["packaged_on"] == today:
            more = max(ENOUGH - lot["packages"], 1)
            packages = f"{more} more package{'' if more == 1 else 's'}"
            said.append(f"read {packages} within {_hours(late_after_minutes)} of filling")
        said.append(_taste(lot))
    return said


def line_of(lot: Cells, today: date, late_after_minutes: float) -> str:
    """Return the whole line for the shift log; arguments as for `advice`."""
    to_do = advice(lot, today, late_after_minutes)
    parts = [answer(lot), f"To do: {'; or '.join(to_do)}." if to_do else "", remark(lot)]
    return " ".join(part for part in parts if part)


def remark(lot: Cells) -> str:
    """Return the warning against measuring a lot until it pleases, where one would try."""
    return CANNOT_CLEAR if lot["verdict"] in _NOT_CLEARED else ""


def day(value: date) -> str:
    """Return a day as `7 Apr 2026`."""
    return f"{value.day} {value:%b %Y}"


def _read(lot: Cells) -> str:
    kinds = {
        "late": lot["late"],
        "shaken": lot["shaken"],
        "beer or gas alone": lot["part"],
        "below the meter's floor": lot["below_floor"],
        "unusable": lot["unusable"],
    }
    counts = ", ".join(f"{count} {kind}" for kind, count in kinds.items() if count)
    heads = f"; heads {lot['heads']}" if lot["heads"] else "; head not recorded"
    about = f" ({counts}{heads})" if counts else f" ({heads.removeprefix('; ')})"
    if lot["total_ppb"] is not None:
        bounds = f"{floor(lot['lower_ppb'])} to {ceil(lot['upper_ppb'])}"
        packages = f"{lot['packages']} package{'' if lot['packages'] == 1 else 's'}"
        return f"{lot['total_ppb']:.0f} ppb ({bounds}) from {packages}{about}"
    if lot["at_least_ppb"] is not None:
        return f"at least {floor(lot['at_least_ppb'])} ppb{about}"
    if lot["upper_ppb"] is not None:
        return f"at most {ceil(lot['upper_ppb'])} ppb{about}"
    return f"no reading that tells its oxygen{about}" if counts else "no oxygen reading"


def _line(lot: Cells) -> str:
    if lot["line_ppb"] is None:
        return ", no limits of its line and format yet"
    limits = f"{lot['limit_lower_ppb']:.0f} to {lot['limit_upper_ppb']:.0f}"
    usual = f"its line's usual is {lot['line_ppb']:.0f} (limits {limits})"
    return f", above the limit of its line: {usual}" if lot["above_line"] else f"; {usual}"


def _verdict(lot: Cells) -> str:
    verdict = lot["verdict"]
    if verdict in _SAYS_NOTHING:
        return _SAYS_NOTHING[verdict]
    usual = f"The usual {_days(lot['usual_days'])}"
    if lot["printed_on"] is not None:
        usual = f"The printed {_days(lot['usual_days'])}, to {day(lot['printed_on'])},"
    kept = f"kept as '{lot['route']}' says (about {lot['temp_c']:g} °C)"
    if verdict == "holds":
        return f"{usual} hold, {kept}"
    if verdict == "shorten":
        only = "" if lot["upper_ppb"] is not None else "at most "
        supported = lot["supported_days"]
        fits = "no date" if supported is None else f"{only}{_days(supported)}"
        beside = ""
        if lot["style_days"] is not None and lot["style_days"] < lot["usual_days"]:
            beside = f", that of a usual lot {_days(lot['style_days'])}"
        return f"{usual} do not hold, {kept}: its oxygen supports {fits}{beside}"
    if verdict == "as usual":
        return (
            f"{usual} stand, {kept}: its oxygen is not surely above the {lot['reckoned_ppb']:.0f} "
            f"ppb of the middle lot that the date reckons with"
        )
    fits = "no date" if lot["style_days"] is None else f"{_days(lot['style_days'])}"
    return (
        f"{usual} are too long for a usual lot too, {kept}, where the data support {fits}: that is "
        f"a matter of the date, not of this lot's oxygen"
    )


def _shorten(lot: Cells, today: date) -> str:
    until = lot["packaged_on"] + timedelta(days=lot["shorten_days"])
    said = f"shorten to {_days(lot['shorten_days'])}, best before {day(until)}"
    if until < today:
        return f"{said}, which has passed"
    return f"{said} (packed beer is never re-dated: have what is packed sold and drunk by then)"


def _taste(lot: Cells) -> str:
    if not lot["samples"]:
        return "taste a retained sample: none of it is in storage, so put one aside"
    return f"taste its retained sample {lot['sample']}, to be pulled on {day(lot['sample_on'])}"


def _days(number: int) -> str:
    return f"{number} day{'' if number == 1 else 's'}"


def _hours(minutes: float) -> str:
    hours = minutes / 60.0
    return f"{hours:g} hour{'' if hours == 1 else 's'}" if hours >= 1 else f"{minutes:g} minutes"
