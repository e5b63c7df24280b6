"""Difference tests that somebody types in, and what is said of them."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.errors import InputError
from analysis.panel.difference import Plan, judge_difference, judge_similarity
from analysis.panel.discrimination import METHODS
from analysis.panel.replicated import judge_replicated
from pipelines.errors import AnswerError
from pipelines.flows.difference import answer_difference
from pipelines.flows.difference_words import (
    difference_words,
    odds,
    people,
    replicated_words,
    similarity_words,
    times,
)

COMMAND = Path(sys.executable).with_name("stalecurve")
TRIANGLE = Plan(METHODS["triangle"])


def said(
    method: str,
    *counts: str,
    two_sided: bool = False,
    noticed_by: float = 30.0,
    power: float = 80.0,
    similar: bool = False,
) -> list[str]:
    """Return what is said of what was typed."""
    lines: list[str] = []
    answer_difference(
        method,
        counts,
        two_sided=two_sided,
        noticed_by=noticed_by,
        power=power,
        similar=similar,
        say=lines.append,
    )
    return lines


def test_the_command_needs_no_brewery(tmp_path: Path) -> None:
    """In an empty folder: the finding first, the statistics last, and nothing is written."""
    done = subprocess.run(
        [str(COMMAND), "difference", "triangle", "36", "18"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")
    first, *_, last = done.stdout.splitlines()
    assert first == (
        "A difference was noticed: 18 of 36 were right; by luck alone as many come about once in "
        "35 tests."
    )
    assert last.startswith("For the statistician: exact binomial p 0.028 (one-sided")
    assert list(tmp_path.iterdir()) == []


def test_bad_input_is_one_plain_message(tmp_path: Path) -> None:
    """Exit code 1, nothing on standard output, one line on standard error."""
    done = subprocess.run(
        [str(COMMAND), "difference", "triangle", "18", "36"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr == (
        "stalecurve: 36 right of 18 answers cannot be: type the answers first, then how many were "
        "right: 36 18\n"
    )


def test_finding_nothing_is_said_with_what_was_missed() -> None:
    """Four of eight: never that there is no difference, and how many answers it takes."""
    missed, counted, bound, needed, _ = said("triangle", "8", "4")
    assert missed == (
        "No difference found by 8 tasters; a real one noticed by 3 in 10 people would be missed 4 "
        "times in 5."
    )
    assert counted == "4 of 8 were right; 6 would have shown a difference."
    assert bound == "As many as 72 of 100 people may notice one (95 % sure)."
    assert needed == (
        "To notice one that 3 in 10 people notice 4 times in 5 takes 40 answers; take 42, because "
        "in between the chance falls again now and then."
    )


@given(st.sampled_from(sorted(METHODS)), st.integers(1, 60), st.data())
def test_no_difference_is_never_claimed(method: str, assessments: int, data: st.DataObject) -> None:
    """Whatever the counts, finding none stands beside what would have been missed."""
    correct = data.draw(st.integers(0, assessments))
    found = judge_difference(Plan(METHODS[method]), assessments, correct)
    text = " ".join(difference_words(found))
    assert "no difference" not in text.lower().replace("no difference found", "")
    assert ("would be missed" in text) != found.found


def test_several_tests_of_one_pair_are_judged_together() -> None:
    """Quoted in pairs or one after the other; what they differ by is said."""
    lines = said("triangle", "9 8", "8", "1", "10 3  9 9")
    assert lines[0].startswith("4 tests together: a difference was noticed: 21 of 36 were right")
    assert "The tests differ by more than luck" in lines[2]
    assert "beta-binomial over 4 tests, overdispersion 0.447" in lines[-1]
    assert "The tests agree as well as luck lets them." in said("triangle", "9", "5", "8", "4")


def test_tests_that_differ_a_little_are_said_to() -> None:
    """An overdispersion that luck may do is reckoned with and not made much of."""
    found = judge_replicated(TRIANGLE, [9, 8, 9], [8, 4, 4])
    assert found.overdispersion > 0.0
    assert "differ a little, which luck may do" in replicated_words(found)[-1]


def test_a_name_of_two_words_needs_no_hyphen() -> None:
    """Duo trio, DUO-TRIO and duo_trio are one method."""
    assert said("duo", "trio", "8", "7") == said("DUO-TRIO", "8", "7") == said("duo_trio", "8", "7")


def test_a_paired_test_to_both_sides_counts_the_beer_chosen_more_often() -> None:
    """Three of twelve for one are nine for the other."""
    lines = said("paired", "12", "3", two_sided=True)
    assert lines[1] == "9 of 12 chose the same beer; 10 would have shown a difference."
    assert "(two-sided" in lines[-1]


def test_before_tasting_it_says_what_so_many_could_show() -> None:
    """A number alone, or none."""
    assert said("triangle", "12")[0] == (
        "12 answers find a difference that 3 in 10 people notice once in 4, and miss it 3 times in "
        "4."
    )
    assert said("triangle", "2")[0].endswith("notice never, and miss it every time.")
    assert "takes 46 answers" in said("triangle")[1]


def test_what_matters_and_the_power_wanted_can_be_chosen() -> None:
    """Half of all people notice more easily than three in ten."""
    lines = said("triangle", "8", "4", noticed_by=50, power=90)
    assert "noticed by 1 in 2 people" in lines[0]
    assert "that 1 in 2 people notice 9 times in 10 takes 20 answers" in lines[3]


def test_similarity_is_shown_or_said_not_to_be() -> None:
    """20 of 60 leave few who notice; 21 of 40 in a duo-trio do not, and 77 answers would."""
    assert said("triangle", "60", "20", similar=True)[0] == (
        "Shown that fewer than 3 in 10 people notice a difference: at most 17 of 100 do (95 % "
        "sure)."
    )
    lines = said("duo-trio", "40", "21", similar=True)
    assert lines[0].startswith("Not shown that fewer than 3 in 10 people")
    assert lines[1].endswith("takes 77 answers, if in truth nobody does.")


def test_fewer_right_than_luck_gives_is_no_proof_of_likeness() -> None:
    """None of nine: shown by the rule, and to be looked at."""
    assert any(
        "look at how the glasses were served" in line for line in said("triangle", "30", "3")
    )
    lines = said("triangle", "9", "0", similar=True)
    assert "look at how the glasses were served" in lines[1]


def test_where_nothing_can_show_similarity_it_is_said() -> None:
    """Three answers in a paired test to both sides."""
    found = judge_similarity(Plan(METHODS["paired"], two_sided=True), 3, 1)
    assert "3 answers cannot show that, whoever is right" in similarity_words(found, 3)[1]


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (0.807, "4 times in 5"),
        (0.19, "once in 5"),
        (0.0, "never"),
        (1.0, "every time"),
        (0.0004, "once in 1,000"),
        (0.9996, "999 times in 1,000"),
    ],
)
def test_chances_are_said_as_times(chance: float, words: str) -> None:
    """In the smallest number that is near, never rounded to certainty."""
    assert times(chance) == words


@given(st.floats(0.002, 0.998))
def test_odds_are_near_what_they_stand_for(share: float) -> None:
    """Within a hundredth where they are small, and never none or all."""
    part, total = odds(share)
    assert 0 < part < total
    assert abs(part / total - share) <= max(0.025, 0.001)


def test_people_are_counted() -> None:
    """As the method's users say it."""
    assert (people(0.3), people(1.0)) == ("3 in 10 people", "everybody")


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        (("triangel", "36", "18"), "did you mean triangle?"),
        (("triangle", "0", "0"), "a test without answers says nothing"),
        (("triangle", "1", "2", "3"), "3 numbers were given"),
        (("triangle", "8", "4.5"), "4.5 is no number of answers"),
        (("triangle", "200000"), "at most 100,000"),
    ],
)
def test_numbers_that_are_no_tests_are_refused(typed: tuple[str, ...], message: str) -> None:
    """With what to type."""
    with pytest.raises(AnswerError, match=re.escape(message)):
        said(*typed)


@pytest.mark.parametrize("power", [0.8, 100.0])
def test_shares_are_said_in_per_cent(power: float) -> None:
    """A share below one is no per cent, and nothing is certain."""
    with pytest.raises(AnswerError, match="--power is per cent, from 1 to 99"):
        said("triangle", "8", "4", power=power)


def test_only_a_paired_test_has_two_sides() -> None:
    """The analysis refuses it with its reason."""
    with pytest.raises(InputError, match="only a paired test has two sides"):
        said("triangle", "8", "4", two_sided=True)


@pytest.mark.parametrize("option", ["similar", "two_sided"])
def test_options_for_one_test_are_refused_for_several(option: str) -> None:
    """The message names it."""
    with pytest.raises(AnswerError, match="--"):
        said("paired", "9", "5", "8", "4", **{option: True})  # type: ignore[arg-type]
