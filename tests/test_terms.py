"""Every word of ours in the records has its message."""

from __future__ import annotations

from collections.abc import Iterable

import pytest

from eaveline.messages import Language, load_language, speaking
from eaveline.private.derive import box_use, calls
from eaveline.private.intake.ledger import RowState
from eaveline.private.intake.vocabulary import CANONICAL
from eaveline.private.offers import plans
from eaveline.private.planning.screen import BAND_WORDS, Age
from eaveline.public.records import Nation, Species
from eaveline.terms import column, term
from pseudo_language import TAG, pseudo, write_catalogue

WORDS: dict[str, Iterable[str]] = {
    "species": [*Species],
    "seen in a box": CANONICAL["seen"],
    "status": CANONICAL["status"],
    "facing": CANONICAL["facing"],
    "nation": [*Nation],
    "what became of a row": [*RowState],
    "age": [*Age],
    "distance from a site": BAND_WORDS,
    "distance from nests": calls.BAND_WORDS,
    "height of a box": [words for _, words in box_use._HEIGHTS],
    "plan": [plans.BEST, plans.GREEDY, plans.NEAREST, plans.SPREAD],
    "verdict on calls": ["no clear difference", "sooner with calls", "later with calls"],
}


@pytest.fixture(scope="module")
def invented(tmp_path_factory: pytest.TempPathFactory) -> Language:
    folder = tmp_path_factory.mktemp("messages")
    write_catalogue(folder)
    return load_language(TAG, folders=[folder])


@pytest.mark.parametrize("kind", WORDS)
def test_words_of_the_records_are_messages(kind: str, invented: Language) -> None:
    with speaking(invented):
        said = {str(word): term(str(word)) for word in WORDS[kind]}
    assert said == {word: pseudo(word) for word in said}


def test_what_people_write_stays(invented: Language) -> None:
    with speaking(invented):
        assert term("12 Mill Lane") == "12 Mill Lane"
        assert column("our_own_column") == "our own column"
        assert column("last_confirmed") == pseudo("last confirmed")
    assert term("swift") == "swift"
