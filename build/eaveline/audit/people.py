"""Finds the names of recorders, members, hosts."""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass
from functools import cached_property

from eaveline.audit.findings import Hit
from eaveline.audit.secrets import Secrets
from eaveline.audit.text import CELL, folded, word_set

RULE = "person"

_TITLES = word_set("mr mrs ms miss mx dr rev revd prof sir lady dame lord cllr")
_NOT_A_PERSON = word_set(
    "anon anonymous unknown public member members staff group team various resident residents"
    " neighbour neighbours visitor visitors passer passerby volunteer volunteers"
    " council society association charity library police company ltd appeal donation"
)
"""A 'recorder' with one of these words is a role; finding it in a text says nothing.

Only words that are nobody's name: Church, Grant, Parish are left out.
"""
_INITIAL_OR_WORD = frozenset("AIO")
"""Initials that are words as well: 'A Mill' may be a mill."""

_NAME_WORD = re.compile(r"[^\W\d_]+(?:['-][^\W\d_]+)*")
_REACH = 100
"""Characters around one of its words in which a name is looked for; no form of it is longer."""
_BESIDE = 45
"""The same for an initial or a title beside the surname."""
_LETTERS = re.compile(r"[^\W\d_]+")
_BEFORE = r"(?<![^\W\d_])(?<![^\W\d_]')"
_AFTER = r"(?![^\W\d_])"
_GAP = r"[\W_]{0,6}"
_BETWEEN = rf"(?:{_GAP}|[\W_]{{1,6}}(?:[^\W\d_]+\.?[\W_]{{1,3}}){{1,2}})"
_CREDIT = r"(?:by|to|from|with|thanks|recorder|observer|author|host|member|owner)[\s:]{1,2}"


@dataclass(frozen=True, slots=True, repr=False)
class _Person:
    key: str
    forename: str
    """The start of it up to the first mark, in small letters."""
    whole: tuple[re.Pattern[str], ...]
    """Forename with surname."""
    short: tuple[re.Pattern[str], ...]
    """Surname with an initial or a title beside it."""


def _word(name: str) -> str:
    """Return a pattern for one name: hyphens, apostrophes may be missing or be spaces."""
    return re.sub(r"\\?['-]", r"[\\W_]?", re.escape(name))


def _split_couples(name: str) -> list[list[str]]:
    """Return forenames with surname, one list for each person a cell names.

    Examples
    --------
    >>> _split_couples("Ann & Bob Thorne")
    [['Ann', 'Thorne'], ['Bob', 'Thorne']]
    >>> _split_couples("Thorne, Ann")
    [['Ann', 'Thorne']]
    """
    people: list[list[str]] = []
    for part in re.split(r"\s*(?:&|\+|;|/|\band\b)\s*", name):
        last, comma, first = part.partition(",")
        words = _NAME_WORD.findall(f"{first} {last}" if comma else part)
        people.append([word for word in words if word.lower() not in _TITLES])
    surname = people[-1][-1:] if people and len(people[-1]) > 1 else []
    return [words + surname if len(words) == 1 else words for words in people if words]


def _cased(word: str) -> str:
    """Return a pattern for a surname in title case or in capitals."""
    return rf"(?:{_word(word[:1].upper() + word[1:])}|{_word(word.upper())})"


def _person(words: list[str]) -> _Person:
    first, last = words[0], words[-1]
    titles = "|".join(sorted(_TITLES))
    initial = first[0].upper()
    stop = r"\." if initial in _INITIAL_OR_WORD else r"\.?"
    more = r"(?:[\s.]{0,2}[A-Z]\b\.?){0,2}"
    return _Person(
        key=" ".join(words).casefold(),
        forename=_LETTERS.findall(first.lower())[0],
        whole=(
            re.compile(rf"{_BEFORE}{_word(first)}{_BETWEEN}{_word(last)}{_AFTER}", re.IGNORECASE),
            re.compile(rf"{_BEFORE}{_word(last)}{_GAP}{_word(first)}{_AFTER}", re.IGNORECASE),
        ),
        short=(
            re.compile(
                rf"{_BEFORE}(?:{titles})[.\s_+-]{{1,3}}{_word(last)}{_AFTER}", re.IGNORECASE
            ),
            re.compile(
                rf"{_BEFORE}{initial}(?:{stop}{more}[\s_+-]{{1,2}}|\.){_cased(last)}{_AFTER}"
            ),
            re.compile(rf"{_BEFORE}{_cased(last)}[\s,_+-]{{1,3}}{initial}{stop}(?![\w'])"),
            re.compile(
                rf"(?:(?<=[\"'>;=,{CELL}])\s?|(?i:\b{_CREDIT})){initial}\s{_cased(last)}{_AFTER}"
            ),
            re.compile(rf"{_BEFORE}{initial}[._-]\s?{_word(last)}{_AFTER}", re.IGNORECASE),
        ),
    )


def _person_of_one_word(name: str) -> _Person:
    """Return a name that is found only where a value stands, or after words such as 'seen by'.

    A user name with a digit is no ordinary word, so it is found anywhere.
    """
    word = re.escape(name)
    if re.search(r"\d", name):
        pattern = rf"(?<![^\W_]){word}(?![^\W_])"
    else:
        credit = rf"(?i:\b{_CREDIT})"
        pattern = (
            rf"(?:(?<=[\"'>;=,{CELL}])|^|{credit})\s?{word}(?=[\"'<;{CELL}]|,(?! )|$)"
            rf"|{credit}{word}(?![^\W_])"
        )
    return _Person(name.casefold(), name.lower(), (), (re.compile(pattern, re.MULTILINE),))


@dataclass(frozen=True, repr=False, eq=False)
class People:
    """The register's names, ready to be looked for."""

    by_word: dict[str, tuple[_Person, ...]]
    """A run of letters that every form of the name holds, to the people it may be."""
    public_names: tuple[str, ...]

    def __repr__(self) -> str:
        """Return counts, never a value."""
        return f"People({len(self.by_word)} words)"

    @cached_property
    def public(self) -> re.Pattern[str]:
        """A pattern for the names everybody may read."""
        names = [r"[\W_]+".join(map(re.escape, name.split())) for name in self.public_names]
        return re.compile("|".join(sorted(names, key=len, reverse=True)) or r"(?!)", re.IGNORECASE)


def people_of(secrets: Secrets) -> People:
    """Return the names to look for; those that are public names or roles are left out."""
    public = {folded(name).casefold() for name in secrets.public_names | secrets.street_names}
    by_word: dict[str, list[_Person]] = defaultdict(list)
    for name in sorted(secrets.people):
        whole = folded(name).strip()
        if whole.casefold() in public or {*whole.lower().split()} & _NOT_A_PERSON:
            continue
        is_user_name = re.search(r"\d", whole) is not None and " " not in whole
        for words in [[whole]] if is_user_name else _split_couples(whole):
            person = _person(words) if len(words) > 1 else _person_of_one_word(words[0])
            for word in _keys(words):
                by_word[word].append(person)
    return People(
        by_word={word: tuple(people) for word, people in by_word.items()},
        public_names=tuple(sorted(public)),
    )


def _keys(words: list[str]) -> set[str]:
    """Return runs of letters, one of which every form of the name holds."""
    first, last = words[0].lower(), words[-1].lower()
    joined = re.sub(r"['-]", "", last)
    keys = {max(_LETTERS.findall(last), key=len, default=""), joined}
    if len(words) > 1:
        keys |= {first + joined, joined + first}
    return keys - {""}


def people_hits(text: str, people: People) -> list[Hit]:
    """Find full names in any order, initials with surname, title with surname.

    Parameters
    ----------
    text
        A text as `text.readings` gives it.
    people
        From `people_of`.

    Returns
    -------
    list of Hit
        None of them can be allowed.
    """
    text = folded(text)
    hits = []
    lower = text.lower()
    for word in {*_LETTERS.findall(lower)} & people.by_word.keys():
        at = lower.find(word)
        while at >= 0:
            hits += [
                Hit(RULE, person.key, match.start())
                for person in people.by_word[word]
                if (match := _match(text, lower, at, person, people)) is not None
            ]
            at = lower.find(word, at + len(word))
    return hits


def _match(text: str, lower: str, at: int, person: _Person, people: People) -> re.Match[str] | None:
    """Return the person's name in any form around a place where part of it stands."""
    near = max(0, at - _REACH), at + _REACH
    beside = max(0, at - _BESIDE), at + _BESIDE
    forms = [(pattern, beside) for pattern in person.short]
    if lower.find(person.forename, *near) >= 0:
        forms += [(pattern, near) for pattern in person.whole]
    for pattern, window in forms:
        for match in pattern.finditer(text, *window):
            if not _is_public(match, text, people):
                return match
    return None


def _is_public(match: re.Match[str], text: str, people: People) -> bool:
    """Return whether the words are part of a public name, as 'A Mill' in 'A Mill Lane resident'.

    A public name that merely overlaps excuses an initial, never a full name.
    """
    around = max(0, match.start() - 80)
    initial_only = len(_LETTERS.findall(match[0])[0]) == 1
    for name in people.public.finditer(text, around, match.end() + 80):
        covers = name.start() <= match.start() and match.end() <= name.end()
        overlaps = name.start() < match.end() and match.start() < name.end()
        if covers or (initial_only and overlaps):
            return True
    return False
