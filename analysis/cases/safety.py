"""Whether a complaint touches safety: by its category, or by words in its note.

Such a complaint is no question of freshness: it goes to the food-safety procedure at once, the
package is kept and nobody tastes it. The words are generous on purpose: a stop too many costs a
call, one too few may cost more.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from analysis.cases.safety_words import LANGUAGES, WORDS

if TYPE_CHECKING:
    from collections.abc import Iterable

SAFETY_CATEGORIES = (
    "gushing",
    "burst",
    "foreign body",
    "chemical",
    "allergen",
    "illness",
    "injury",
)
"""Categories of a complaint that are the food-safety lead's: nobody tastes that beer."""

OWN = "own words"


@dataclass(frozen=True)
class Touch:
    """One reason to stop.

    Attributes:
        what: the category that is touched; empty for a word of the brewery's own list.
        word: the word of the list that the note holds, as the list has it; None by category.
        language: of the list; None by category.
    """

    what: str
    word: str | None = None
    language: str | None = None


@dataclass(frozen=True)
class Watch:
    """Which words are looked for: languages of `LANGUAGES` by code, and the brewery's own words."""

    languages: tuple[str, ...] = tuple(LANGUAGES)
    own: tuple[str, ...] = ()


def touches(categories: Iterable[str], note: str | None, watch: Watch) -> tuple[Touch, ...]:
    """Return every reason to stop; none where safety is not touched.

    Args:
        categories: the complaint's.
        note: its text; None without one.
        watch: which words to look for.
    """
    given = set(categories)
    found = [Touch(category) for category in SAFETY_CATEGORIES if category in given]
    if not note:
        return tuple(found)
    plain = plain_text(note)
    for language in watch.languages:
        for category, words in WORDS[language].items():
            found += _found(category, words_of(words), LANGUAGES[language], plain)
    return (*found, *_found("", watch.own, OWN, plain))


def words_of(text: str) -> tuple[str, ...]:
    """Return the words and phrases of an entry of the lists."""
    first, *phrases = text.split(";")
    return (*first.split(), *(phrase.strip() for phrase in phrases))


def plain_text(text: str) -> str:
    """Return a text in small letters without accents and signs, its words apart by one space."""
    apart = unicodedata.normalize("NFKD", text.casefold())
    letters = (sign for sign in apart if unicodedata.category(sign) not in {"Mn", "Cf"})
    return re.sub(r"[^\w]+|_+", " ", "".join(letters)).strip()


def _found(category: str, words: Iterable[str], language: str, plain: str) -> list[Touch]:
    return [Touch(category, word, language) for word in words if _says(plain, _parts(word))]


def _says(plain: str, parts: tuple[str, ...]) -> bool:
    """Tell whether a plain text has a word of a list."""
    if not all(part in plain for part in parts):  # so it is for nearly all, and a pattern is slow
        return False
    middle = r"\w*".join(re.escape(part) for part in parts)
    return re.search(rf"(?<!\w){middle}(?!\w)", plain) is not None


@cache
def _parts(word: str) -> tuple[str, ...]:
    """Return what a word of a list is made of, as plain text; a star stands between its parts."""
    return tuple(plain_text(part) for part in word.split("*"))
