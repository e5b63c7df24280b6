"""What is said of a difference test: never that there is no difference, always what was missed."""

from __future__ import annotations

from math import ceil, floor, inf
from typing import TYPE_CHECKING

from analysis.panel.difference import power_of, similarity_size, smallest_size
from analysis.panel.discrimination import correct_of

if TYPE_CHECKING:
    from analysis.panel.difference import Difference, Interval, Plan, Similarity
    from analysis.panel.replicated import Replicated

OUT_OF = (2, 3, 4, 5, 10, 20, 50, 100, 1000)
_NEAR = 0.025
ODD_SERVING = (
    "Fewer were right than luck alone nearly always gives: look at how the glasses were served."
)


def odds(share: float) -> tuple[int, int]:
    """Return a share as so many in so many, in the smallest number that is near: 4 in 5.

    Never none nor all: what may happen is not said to be impossible, nor sure.
    """
    for total in OUT_OF:
        part = round(share * total)
        if 0 < part < total and abs(part / total - share) <= min(_NEAR, share / 4, (1 - share) / 4):
            return part, total
    return (1, OUT_OF[-1]) if share < 1 / 2 else (OUT_OF[-1] - 1, OUT_OF[-1])


def times(chance: float) -> str:
    """Return a chance as `4 times in 5`, `once in 5`, `never` or `every time`."""
    if chance in {0.0, 1.0}:
        return "every time" if chance else "never"
    part, total = odds(chance)
    return f"{'once' if part == 1 else f'{part} times'} in {total:,}"


def people(share: float) -> str:
    """Return a share of people as `3 in 10 people`."""
    return "everybody" if share >= 1.0 else "{} in {} people".format(*odds(share))


def difference_words(found: Difference, by: str = "") -> list[str]:
    """Say what a test shows, and what it may have missed.

    Args:
        found: the judgement.
        by: who did not find a difference; usual: by so many tasters.

    Returns:
        Sentences, the finding first.
    """
    plan, n = found.plan, found.assessments
    if found.found:
        return [
            f"A difference was noticed: {_counted(found)}; by luck alone as many {_luck(found.p)}.",
            noticing(found.share, plan.level),
        ]
    shows = f"not even {n} of {n}" if found.critical is None else found.critical
    by = by or f"by {n} taster{'' if n == 1 else 's'}"
    return [
        (
            f"No difference found {by}; a real one noticed by {people(plan.share)} would be "
            f"missed {times(1.0 - found.power)}."
        ),
        f"{_counted(found)}; {shows} would have shown a difference.",
        _at_most(found.share.upper, plan.level),
    ]


def _at_most(upper: float, level: float) -> str:
    sure = _percent((1.0 + level) / 2.0)
    if upper >= 1.0:
        return f"It does not rule out that everybody notices one ({sure} sure)."
    if upper <= 0.0:
        return ODD_SERVING
    return f"As many as {ceil(100 * upper)} of 100 people may notice one ({sure} sure)."


def _counted(found: Difference) -> str:
    if found.plan.two_sided:
        most = max(found.correct, found.assessments - found.correct)
        return f"{most} of {found.assessments} chose the same beer"
    return f"{found.correct} of {found.assessments} {'was' if found.correct == 1 else 'were'} right"


def _luck(p: float) -> str:
    if p < 1 / OUT_OF[-1]:
        return f"come less than once in {OUT_OF[-1]:,} tests"
    return f"come about once in {round(1 / p):,} tests"


def noticing(share: Interval, level: float) -> str:
    """Say how many people notice."""
    low, high = floor(100 * share.lower), ceil(100 * share.upper)
    least = f"at least {low} and at most {high}" if low else f"perhaps hardly any, at most {high}"
    return (
        f"About {round(100 * share.value)} of 100 people notice it, {least} ({_percent(level)} "
        "sure); the others guess."
    )


def needed(plan: Plan) -> str:
    """Say how many answers find the share that matters, and what so few would miss."""
    size = smallest_size(plan)
    wanted = f"To notice one that {people(plan.share)} notice {times(plan.power)} takes"
    if size.first == size.always:
        return f"{wanted} {size.first} answers."
    return (
        f"{wanted} {size.first} answers; take {size.always}, because in between the chance falls "
        "again now and then."
    )


def plan_words(plan: Plan, assessments: int | None) -> list[str]:
    """Say what a test that was not tasted yet could show.

    Args:
        plan: the test.
        assessments: answers that there will be; None where that is asked.
    """
    if assessments is None:
        return [needed(plan), _needed_similar(plan)]
    power = float(power_of(plan, assessments, correct_of(plan.method, plan.share)))
    finds = f"{assessments} answers find a difference that {people(plan.share)} notice"
    return [f"{finds} {times(power)}, and miss it {times(1.0 - power)}.", needed(plan)]


def similarity_words(found: Similarity, assessments: int) -> list[str]:
    """Say whether fewer people notice than matter.

    Args:
        found: the judgement.
        assessments: answers given.
    """
    plan, sure = found.plan, _percent(1.0 - found.plan.alpha)
    fewer = f"that fewer than {people(plan.share)} notice a difference"
    if found.shown and found.upper <= 0.0:
        return [f"Shown {fewer} ({sure} sure).", ODD_SERVING]
    upper = "all" if found.upper >= 1.0 else f"{ceil(100 * found.upper)} of 100"
    if found.shown:
        return [f"Shown {fewer}: at most {upper} do ({sure} sure)."]
    said = [f"Not shown {fewer}: {upper} may ({sure} sure)."]
    if found.power < plan.power:
        chance = (
            "cannot show that, whoever is right"
            if found.most is None
            else f"show that {times(found.power)}, even where nobody notices anything"
        )
        said.append(f"{assessments} answers {chance}. {_needed_similar(plan)}")
    return said


def _needed_similar(plan: Plan) -> str:
    size = similarity_size(plan)
    return (
        f"To show that fewer than {people(plan.share)} notice takes {size.always} answers, if in "
        f"truth nobody does."
    )


def replicated_words(found: Replicated) -> list[str]:
    """Say what tests of one pair show together, and what their unlikeness costs."""
    added, level = found.added, found.added.plan.level
    first, *_ = difference_words(added, f"in {added.assessments} answers")
    said = [
        f"{found.tests} tests together: {first[:1].lower()}{first[1:]}",
        noticing(found.share, level) if added.found else _at_most(found.share.upper, level),
    ]
    if found.p_alike <= added.plan.alpha:
        said.append(
            f"The tests differ by more than luck, so that they say less than {added.assessments} "
            f"answers of one test: of 100 people {_span(found.share)} may notice, not "
            f"{_span(added.share)}."
        )
    elif found.overdispersion > 0.0:
        said.append("The tests differ a little, which luck may do; the bounds reckon with it.")
    else:
        said.append("The tests agree as well as luck lets them.")
    return said


def _span(share: Interval) -> str:
    return f"{floor(100 * share.lower)} to {ceil(100 * share.upper)}"


def statistics(found: Difference) -> str:
    """Return the numbers of a test for a statistician."""
    plan, size = found.plan, smallest_size(found.plan)
    sided = "two-sided" if plan.two_sided else "one-sided"
    return (
        f"For the statistician: exact binomial p {_p(found.p)} ({sided}, guessing "
        f"{plan.method.guess:.3f}), critical number {found.critical or 'none'}; share of "
        f"discriminators {_three(found.share)}, d' {_three(found.d_prime)} at "
        f"{_percent(plan.level)}; power {found.power:.2f} for a share of {plan.share:g} at alpha "
        f"{plan.alpha:g}; {plan.power:g} first at n = {size.first}, for good from {size.always}."
    )


def spread_statistics(found: Replicated) -> str:
    """Return the numbers of replicated tests for a statistician."""
    return (
        f"For the statistician: beta-binomial over {found.tests} tests, overdispersion "
        f"{found.overdispersion:.3f} (likelihood ratio against 0: p {_p(found.p_alike)}); share of "
        f"discriminators {_three(found.share)}, d' {_three(found.d_prime)} at "
        f"{_percent(found.added.plan.level)}; added up as one test {_three(found.added.share)}, "
        f"exact binomial p {_p(found.added.p)}."
    )


def _p(p: float) -> str:
    return f"{p:.3f}" if p >= 0.001 else "below 0.001"  # noqa: PLR2004 - a convention


def _three(interval: Interval) -> str:
    value, lower, upper = (
        "unbounded" if number == inf else f"{number:.2f}"
        for number in (interval.value, interval.lower, interval.upper)
    )
    return f"{value} ({lower} to {upper})"


def _percent(share: float) -> str:
    return f"{100 * share:.3g} %"
