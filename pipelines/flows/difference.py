"""Answer what a difference test shows that somebody types in; needs no brewery."""

from __future__ import annotations

from itertools import dropwhile
from typing import TYPE_CHECKING

from analysis.panel.difference import Plan, judge_difference, judge_similarity
from analysis.panel.discrimination import METHODS
from analysis.panel.replicated import judge_replicated
from pipelines.errors import AnswerError
from pipelines.flows.difference_words import (
    difference_words,
    needed,
    plan_words,
    replicated_words,
    similarity_words,
    spread_statistics,
    statistics,
)
from pipelines.readers.names import did_you_mean

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from analysis.panel.discrimination import Method

MOST_ANSWERS = 100_000
_ALSO = {"2-afc": "paired", "pair": "paired", "duo": "duo-trio", "duotrio": "duo-trio"}


def answer_difference(
    method: str,
    counts: Sequence[str],
    *,
    two_sided: bool,
    noticed_by: float,
    power: float,
    similar: bool,
    say: Callable[[str], None],
) -> None:
    """Say what a test shows, or several of one pair together.

    Args:
        method: as a person writes it.
        counts: answers and correct ones of each test; answers alone or nothing: before tasting.
        two_sided: paired only: whether either beer may turn out the stronger one.
        noticed_by: share of people, per cent, from which a difference matters.
        power: chance wanted of finding that, per cent.
        similar: whether to show that fewer notice.
        say: takes each sentence.

    Raises:
        AnswerError: an unknown method, or counts that cannot be.
        AnalysisError: an option that no test can be asked with.
    """
    words = " ".join((method, *counts)).split()
    typed = list(dropwhile(lambda word: not word[0].isdigit(), words))
    plan = Plan(
        _method(" ".join(words[: len(words) - len(typed)])),
        two_sided,
        share=_share(noticed_by, "--noticed-by"),
        power=_share(power, "--power"),
    )
    numbers = [_number(text) for text in typed]
    if len(numbers) < 2:  # noqa: PLR2004 - a test is two numbers
        for line in plan_words(plan, _answers(numbers[0]) if numbers else None):
            say(line)
        return
    if len(numbers) % 2:
        message = (
            f"{len(numbers)} numbers were given: each test is two, the answers and how many were "
            "right, such as 36 18"
        )
        raise AnswerError(message)
    tests = [_test(*pair) for pair in zip(numbers[::2], numbers[1::2], strict=True)]
    if len(tests) > 1:
        _together(plan, tests, similar=similar, say=say)
        return
    found = judge_difference(plan, *tests[0])
    if similar:
        lines = similarity_words(judge_similarity(plan, *tests[0]), found.assessments)
    else:
        lines = difference_words(found)
        if not found.found and found.power < plan.power:
            lines.append(needed(plan))
    for line in lines:
        say(line)
    say(statistics(found))


def _together(
    plan: Plan, tests: list[tuple[int, int]], *, similar: bool, say: Callable[[str], None]
) -> None:
    if similar or plan.two_sided:
        what = "--similar" if similar else "--two-sided"
        message = f"several tests are judged together without {what}: leave it out, or type one"
        raise AnswerError(message)
    found = judge_replicated(plan, *zip(*tests, strict=True))
    for line in (*replicated_words(found), spread_statistics(found)):
        say(line)


def _method(name: str) -> Method:
    plain = "-".join(name.casefold().replace("_", " ").replace("-", " ").split())
    plain = _ALSO.get(plain, plain)
    if plain not in METHODS:
        known = ", ".join(METHODS)
        message = f"there is no method {name}: there is {known}{did_you_mean(plain, METHODS)}"
        raise AnswerError(message)
    return METHODS[plain]


def _number(text: str) -> int:
    if not (text.isascii() and text.isdigit()):
        message = f"{text} is no number of answers: type for instance triangle 36 18"
        raise AnswerError(message)
    return int(text)


def _answers(number: int) -> int:
    if not number:
        message = "a test without answers says nothing: type how many were given"
        raise AnswerError(message)
    if number > MOST_ANSWERS:
        message = f"{number:,} answers are more than anybody tastes: at most {MOST_ANSWERS:,}"
        raise AnswerError(message)
    return number


def _test(assessments: int, correct: int) -> tuple[int, int]:
    if correct > assessments:
        message = (
            f"{correct} right of {assessments} answers cannot be: type the answers first, then how "
            f"many were right: {correct} {assessments}"
        )
        raise AnswerError(message)
    return _answers(assessments), correct


def _share(percent: float, option: str) -> float:
    if not 1.0 <= percent < 100.0:  # noqa: PLR2004 - per cent
        message = f"{option} is per cent, from 1 to 99, such as 30: {percent:g} is not"
        raise AnswerError(message)
    return percent / 100.0
