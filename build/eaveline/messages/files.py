"""Reads a language's message file (gettext's PO format) and checks it against the English words.

Nobody has to compile anything: the file is turned into a catalogue in memory.
"""

from __future__ import annotations

import gettext as _catalogues
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from babel import Locale, UnknownLocaleError
from babel.messages.catalog import Catalog, Message
from babel.messages.mofile import write_mo
from babel.messages.pofile import PoFileError, read_po

from eaveline.errors import InputError, Problem
from eaveline.messages.language import ENGLISH, Language
from eaveline.messages.placeholders import has_stray_percent, names_in

SHIPPED = Path(__file__).resolve().parents[1] / "data" / "messages"
"""Holds messages.pot, every English message, and the languages that come with Eaveline."""

_LINE = re.compile(
    r"""\s*(\#.*|(msgctxt|msgid|msgid_plural|msgstr(\[\d\])?)?\s*"([^"\\]|\\.)*")?\s*"""
)
"""A line of a PO file. Babel reads past some faults, as a quotation mark that is missing."""
_TAG = re.compile(r"</?[a-zA-Z][^<>]*>")
_MARK = re.compile(r"[<>\"]")


def load_language(tag: str, *, folders: Iterable[Path] = ()) -> Language:
    """Read a language.

    Parameters
    ----------
    tag
        As town.toml names it: ``en``, ``cy``, ``de-AT``.
    folders
        Where TAG.po may lie, the first that has it wins; the shipped folder comes after them.
        English needs no file, but may have one: so a town changes a word of ours.

    Returns
    -------
    Language
        A message that the file leaves out stays English.

    Raises
    ------
    InputError
        If nothing is known of the language, its file is missing or broken, or a translation would
        fail when it is filled in: all faults at once.
    """
    locale = _locale(tag)
    path = next(
        (path for folder in (*folders, SHIPPED) if (path := folder / f"{tag}.po").is_file()), None
    )
    if path is not None:
        return Language(tag, locale, _translations(path, locale))
    if locale.language == ENGLISH.locale.language:
        return Language(tag, locale)
    raise InputError(
        Problem(
            code="messages-missing",
            what=f"There is no message file for the language {tag}.",
            next_step=f"Put {tag}.po into theme/messages/ in your town’s folder (README.md tells "
            'how to make it), or set language = "en".',
            file="survey_data/town.toml",
            column="town.language",
        )
    )


def _locale(tag: str) -> Locale:
    if tag == ENGLISH.tag:
        return ENGLISH.locale
    try:
        return Locale.parse(tag, sep="-")
    except (UnknownLocaleError, ValueError):
        raise InputError(
            Problem(
                code="language-unknown",
                what=f"Dates and numbers are not known for the language {tag}.",
                next_step="Use a tag such as en, cy, gd, ga or de.",
                file="survey_data/town.toml",
                column="town.language",
            )
        ) from None


def _translations(path: Path, locale: Locale) -> _catalogues.NullTranslations:
    """Return a file's messages, once they are known to be sound."""
    place = f"messages/{path.name}"
    catalogue = _catalogue(path, locale, place)
    if problems := [
        Problem("messages-translation-wrong", what, step, file=place, row=message.lineno)
        for message in catalogue
        if message.id and not message.fuzzy
        for what, step in _faults(message, forms=catalogue.num_plurals)
    ]:
        raise InputError(problems)
    compiled = io.BytesIO()
    try:
        write_mo(compiled, catalogue)
        compiled.seek(0)
        return _catalogues.GNUTranslations(compiled)
    except (ValueError, OSError, OverflowError) as error:
        raise InputError(_broken(place, str(error))) from None


def _catalogue(path: Path, locale: Locale, place: str) -> Catalog:
    try:
        data = path.read_bytes()
        for row, line in enumerate(data.decode("utf-8-sig").splitlines(), start=1):
            if not _LINE.fullmatch(line):
                raise InputError(_broken(place, "this line is no message", row=row))
        return read_po(io.BytesIO(data), locale=locale, abort_invalid=True)
    except PoFileError as error:
        raise InputError(_broken(place, str(error), row=error.lineno + 1)) from None
    except (OSError, UnicodeDecodeError, ValueError, LookupError) as error:
        raise InputError(_broken(place, str(error) or type(error).__name__)) from None


def _broken(place: str, why: str, *, row: int | None = None) -> Problem:
    return Problem(
        code="messages-unreadable",
        what=f"The message file does not follow the PO format: {why.rstrip('.')}.",
        next_step="Mend it there, or save it again from the program you translate with (as UTF-8).",
        file=place,
        row=row,
    )


@dataclass(frozen=True, slots=True)
class _English:
    """What a translation has to keep of the English words."""

    named: str
    needed: frozenset[str]
    allowed: frozenset[str]
    markup: frozenset[tuple[str, ...]]

    @classmethod
    def of(cls, words: Sequence[str]) -> _English:
        names = [names_in(each) for each in words]
        # The one of a plural need not say its number.
        counted = {"num"} if len(words) > 1 else set()
        return cls(
            named=f"“{words[0]}”",
            needed=frozenset.intersection(*names) - counted,
            allowed=frozenset.union(*names),
            markup=frozenset(_markup(each) for each in words),
        )


def _faults(message: Message, *, forms: int) -> Iterator[tuple[str, str]]:
    """Yield what would go wrong with a translation, and what to do."""
    english = _English.of(_each(message.id))
    given = _each(message.string)
    if not any(given):
        return
    if message.pluralizable and len(given) != forms:
        yield (
            f"{english.named} has {len(given)} forms, but the language has {forms}.",
            "Give every msgstr[…] that the file’s line Plural-Forms counts.",
        )
    for said in given:
        yield from _faults_of_one(said, english)


def _each(words: str | Sequence[str] | None) -> tuple[str, ...]:
    return (words or "",) if isinstance(words, str) or words is None else tuple(words)


def _markup(words: str) -> tuple[str, ...]:
    """Return what a browser would take for HTML, and for the end of an attribute."""
    return tuple(sorted(_TAG.findall(words) + _MARK.findall(_TAG.sub("", words))))


def _faults_of_one(said: str, english: _English) -> Iterator[tuple[str, str]]:
    if not said:
        yield f"A form of {english.named} is empty.", "Translate all its forms, or none."
        return
    names = names_in(said)
    if missing := sorted(english.needed - names):
        yield (
            f"The translation of {english.named} lacks {_listed(missing)}.",
            "Put it where the number or name belongs in the sentence.",
        )
    if unknown := sorted(names - english.allowed):
        yield (
            f"The translation of {english.named} has {_listed(unknown)}: unknown to the original.",
            "Names between %( and )s are not translated: copy them from the original.",
        )
    elif has_stray_percent(said):
        yield (
            f"The translation of {english.named} has a percent sign that stands for nothing.",
            "Write %(name)s as the original has it, and %% for a percent sign.",
        )
    if _markup(said) not in english.markup:
        yield (
            f"The translation of {english.named} has other HTML than the original.",
            'Copy every part between < and > from the original and add none; write “ ” for ".',
        )


def _listed(names: Iterable[str]) -> str:
    return ", ".join(f"%({name})s" for name in names)
