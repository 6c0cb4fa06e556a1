"""Reads one cell of each value type: a date, a time, a count, a word of the trade.

Every reader takes the cell's text, already trimmed and not empty, and returns a `Reading`.
A repair that is certain is made, with its name, so that it can be listed; nothing is
guessed silently.
"""

from __future__ import annotations

import re

from rapidfuzz import fuzz, process

from eaveline.private.intake.cell_reading import Reader, Reading
from eaveline.private.intake.dates import read_date, read_season
from eaveline.private.intake.numbers import read_count, read_number
from eaveline.private.intake.schema import Column, ValueType, plain
from eaveline.private.intake.times import read_time
from eaveline.private.intake.vocabulary import CANONICAL, VOCABULARIES


def _word_reader(vocabulary: str, fault: str) -> Reader:
    table = VOCABULARIES[vocabulary]

    def read(text: str, column: Column) -> Reading:
        del column
        key = plain(text) or text.strip()
        if key in table:
            return Reading(table[key])
        near = process.extractOne(key, list(table), scorer=fuzz.ratio, score_cutoff=75)
        return Reading(fault=fault, suggestion=table[near[0]] if near else None)

    return read


def read_weather(text: str, column: Column) -> Reading:
    """Read the weather as 'wet' or 'dry'; anything else is left open."""
    del column
    cell = text.casefold()
    if re.search(r"\b(?:no rain|dry after rain|rain earlier|dry)\b", cell):
        return Reading("dry")
    if re.search(r"rain|drizzl|shower|storm|hail|sleet|thunder|\bwet\b|downpour|pouring", cell):
        return Reading("wet")
    if re.search(
        r"sun|clear|cloud|overcast|fine|fair|warm|still|calm|bright|mild|breez|hot|grey|humid|haz",
        cell,
    ):
        return Reading("dry")
    return Reading()


def read_text(text: str, column: Column) -> Reading:
    """Return the text as it is."""
    del column
    return Reading(text)


READERS: dict[ValueType, Reader] = {
    ValueType.TEXT: read_text,
    ValueType.PLACE: read_text,
    ValueType.DATE: read_date,
    ValueType.SEASON: read_season,
    ValueType.TIME: read_time,
    ValueType.COUNT: read_count,
    ValueType.NUMBER: read_number,
    ValueType.MONEY: read_number,
    ValueType.YES_NO: _word_reader("yes or no", "yes-no-unclear"),
    ValueType.SPECIES: _word_reader("species", "species-unknown"),
    ValueType.BEHAVIOUR: _word_reader("behaviour", "behaviour-unknown"),
    ValueType.STATUS: _word_reader("status", "status-unknown"),
    ValueType.LOST_CAUSE: _word_reader("lost cause", "lost-cause-unknown"),
    ValueType.SEEN: _word_reader("seen", "seen-unknown"),
    ValueType.STAGE: _word_reader("stage", "stage-unknown"),
    ValueType.FACING: _word_reader("facing", "facing-unknown"),
    ValueType.DECISION: _word_reader("decision", "decision-unknown"),
    ValueType.WEATHER: read_weather,
}


def words_for(value_type: ValueType) -> tuple[str, ...]:
    """Return the canonical words of a vocabulary type, or nothing for other types."""
    return CANONICAL.get(value_type.value, ())
