"""`[complaints]`: words that touch safety, whether notes are shown, what is assumed of causes."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from analysis.cases.accounts import PRIORS
from analysis.cases.safety_words import LANGUAGES
from pipelines.config.section import is_texts

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pipelines.config.section import Section


@dataclass(frozen=True)
class Complaints:
    """How complaints are answered.

    Attributes:
        languages: whose words in a note stop an answer, by code.
        safety_words: the brewery's own words that do.
        show_notes: whether notes, which may hold names, stand on the brewery's own pages.
        priors: by cause, its share of the complaints about taste before anything is known.
    """

    languages: tuple[str, ...] = tuple(LANGUAGES)
    safety_words: tuple[str, ...] = ()
    show_notes: bool = False
    priors: Mapping[str, float] = field(default_factory=lambda: dict(PRIORS))


def complaints_of(section: Section) -> Complaints:
    """Read and check `[complaints]`."""
    known = ", ".join(f'"{code}"' for code in LANGUAGES)
    languages = section.checked(
        "languages",
        list(LANGUAGES),
        f"a list of languages, of {known}",
        lambda value: is_texts(value) and set(value) <= LANGUAGES.keys(),
    )
    own = section.checked("safety_words", [], "a list of words", _are_words)
    shares = section.section("priors")
    complaints = Complaints(
        languages=tuple(dict.fromkeys(languages)),
        safety_words=tuple(own),
        show_notes=section.flag("show_notes", default=False),
        priors={name: shares.number(name, share, 0.0, 1000.0) for name, share in PRIORS.items()},
    )
    shares.close()
    section.close()
    return complaints


def _are_words(value: object) -> bool:
    """Whether a value is a list of words, each with a letter or figure in it."""
    return is_texts(value) and all(
        any(sign.isalnum() for sign in word)
        for word in value  # type: ignore[attr-defined]
    )
