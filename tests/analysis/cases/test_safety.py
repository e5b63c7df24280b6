"""What touches safety stops a complaint: by category, or by words in any of six languages."""

from __future__ import annotations

import pytest

from analysis.cases.safety import SAFETY_CATEGORIES, Touch, Watch, plain_text, touches, words_of
from analysis.cases.safety_words import LANGUAGES, WORDS

ALL = Watch()
STOPS = {
    "en": {
        "gushing": "half of it ended over the table",
        "burst": "The bottle exploded in the crate",
        "foreign body": "there was a piece of plastic in the can",
        "chemical": "smells of bleach",
        "allergen": "she is allergic and was not told",
        "illness": "he was sick all night",
        "injury": "cut my lip",
    },
    "de": {
        "gushing": "Die Flasche ist übergeschäumt",
        "burst": "Eine Flasche ist im Keller geplatzt",
        "foreign body": "Glassplitter im Bier",
        "chemical": "riecht nach Reinigungsmittel",
        "allergen": "Allergische Reaktion",
        "illness": "mir wurde ÜBEL, musste erbrechen",
        "injury": "hat sich die Hand verletzt",
    },
    "fr": {
        "gushing": "la bière a jailli",
        "burst": "la bouteille a explosé",
        "foreign body": "un corps étranger dans la canette",
        "chemical": "goût de javel",
        "allergen": "réaction allergique",
        "illness": "J'ai vomi après un verre",
        "injury": "il s'est blessé",
    },
    "es": {
        "gushing": "salió un chorro",
        "burst": "la botella explotó",
        "foreign body": "había un cuerpo extraño",
        "chemical": "huele a lejía",
        "allergen": "soy alérgica",
        "illness": "vómitos y fiebre",
        "injury": "me corté el dedo",
    },
    "nl": {
        "gushing": "het bier spoot eruit",
        "burst": "het flesje is ontploft",
        "foreign body": "glasscherven in het bier",
        "chemical": "ruikt naar schoonmaakmiddel",
        "allergen": "allergische reactie",
        "illness": "werd er ziek van",
        "injury": "mijn vinger bloedde",
    },
    "it": {
        "gushing": "una fontana di birra",
        "burst": "la bottiglia è esplosa",
        "foreign body": "un corpo estraneo nella lattina",
        "chemical": "odore di candeggina",
        "allergen": "reazione allergica",
        "illness": "ho vomitato",
        "injury": "si è ferito",
    },
}
ORDINARY = (
    "cardboard",
    "dull and no foam",
    (
        "The glass was fine but it tasted of wet cardboard; bought two weeks ago, kept in the car, "
        "made in spring, metallic, sour, sherry, the can tasted burnt and skunky, lost its hops"
    ),
    "Schmeckt nach Pappe, alt, sauer, vor zwei Wochen gekauft, im Glas trüb, wenig Schaum",
    "Goût de carton, vieux, acide, acheté il y a deux semaines, trouble dans le verre",
    "Sabor a cartón, viejo, extraño, ácido, comprado hace dos semanas, turbio en el vaso",
    "Smaakt naar karton, oud, zuur, vreemd, twee weken geleden gekocht, troebel",
    "Sa di cartone, vecchio, acido, comprato due settimane fa, torbido nel bicchiere, molto male",
)


@pytest.mark.parametrize("category", SAFETY_CATEGORIES)
def test_each_safety_category_stops_whatever_else_is_named(category: str) -> None:
    """A complaint of stale beer that also gushed is a matter of safety."""
    assert touches(("stale", category), None, ALL) == (Touch(category),)


@pytest.mark.parametrize(
    ("language", "category", "note"),
    [(code, category, note) for code, notes in STOPS.items() for category, note in notes.items()],
)
def test_words_of_each_language_stop_it(language: str, category: str, note: str) -> None:
    """Each kind is found in each language, in that language alone too, and told with its word."""
    found = touches(("stale",), note, Watch((language,)))
    assert category in {touch.what for touch in found}
    assert {touch.language for touch in found} == {LANGUAGES[language]}
    assert touches(("stale",), note, ALL)


@pytest.mark.parametrize("note", ORDINARY)
def test_what_drinkers_say_of_stale_beer_does_not_stop_it(note: str) -> None:
    """Ordinary notes in six languages pass, though they are held against all of them."""
    assert touches(("stale",), note, ALL) == ()


def test_only_the_configured_languages_are_looked_for() -> None:
    """A brewery that reads no Italian is not stopped by an Italian word, nor by none at all."""
    assert touches(("stale",), "mal di pancia", Watch(("en", "de"))) == ()
    assert touches(("stale",), "he was sick", Watch(())) == ()


def test_own_words_stop_it_too() -> None:
    """A brewery's own word is found with its ending, and told as its own."""
    watch = Watch((), ("crown*", "pull tab"))
    assert touches((), "A CROWNCAP; the pull-tab", watch) == (
        Touch("", "crown*", "own words"),
        Touch("", "pull tab", "own words"),
    )


@pytest.mark.parametrize(
    "note",
    [
        "VOMITED",
        "vo\u200bmited",
        "\u202evomited",
        "v\u00f3mited",
        "vomited\u0000",
        "…vomited!!",
        "_vomited_",
    ],
)
def test_signs_that_nobody_sees_hide_no_word(note: str) -> None:
    """Capitals, accents, invisible and right-to-left marks do not keep a word from being found."""
    assert "illness" in {touch.what for touch in touches((), note, ALL)}


def test_a_word_stands_alone_unless_the_list_says_otherwise() -> None:
    """Still is not ill, and scut is not cut."""
    assert plain_text("Still, a  hill—scut") == "still a hill scut"
    assert touches((), "still on the hill, scut", ALL) == ()


def test_the_lists_are_whole() -> None:
    """Every language has words for every category, none of them twice or empty."""
    assert WORDS.keys() == LANGUAGES.keys()
    for lists in WORDS.values():
        assert tuple(lists) == SAFETY_CATEGORIES
        for text in lists.values():
            words = words_of(text)
            assert all(plain_text(word) for word in words)
            assert len(set(words)) == len(words)
