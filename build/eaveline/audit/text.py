"""Undoes the spellings in which a text may hide: escapes, odd spaces, accents."""

from __future__ import annotations

import html
import re
import sys
import unicodedata
from urllib.parse import unquote

CELL = "\x02"
"""Stands between table cells: unlike a space, it keeps a count from joining a street's name.

A control character, which no text may hold, keeps ASCII text ASCII, and so quick to read.
"""
ROW = f" {CELL}\n"
"""Ends a table's row, so that its last count doesn't join the next row's street."""
BREAK = "\x01"
"""Stands, several at a time, between texts that have nothing to do with each other."""

_MAX_LAYERS = 6
# Characters that compatibility normalisation would turn into something else or leave apart.
_SAME = str.maketrans(
    {
        **dict.fromkeys("\u00ba\u02da\u030a", "\u00b0"),
        **dict.fromkeys("\u2032\u2019\u2018\u00b4\u02b9\u0060\u02bc", "'"),
        **dict.fromkeys("\u2033\u201d\u201c\u02ba", '"'),
        **dict.fromkeys("\u2013\u2014\u2012\u2010\u2011\u2212", "-"),
        # Invisible: soft hyphen, zero-width characters, direction marks, byte order mark, fillers,
        # joiners, variation selectors, tags (default ignorable code points of Unicode); keycaps.
        **dict.fromkeys("\u00ad\u034f\u061c\u115f\u1160\u17b4\u17b5\u20e3\u3164\ufeff\uffa0", None),
        **dict.fromkeys(map(chr, (*range(0x180B, 0x1810), *range(0x200B, 0x2010))), None),
        **dict.fromkeys(map(chr, (*range(0x202A, 0x202F), *range(0x2060, 0x2070))), None),
        **dict.fromkeys(map(chr, (*range(0xFE00, 0xFE10), *range(0xFFF0, 0xFFFC))), None),
        **dict.fromkeys(map(chr, range(0xE0000, 0xE1000)), None),
    }
)
_LOOKALIKES = str.maketrans(
    "\u0410\u0412\u0415\u041a\u041c\u041d\u041e\u0420\u0421\u0422\u0425\u0405\u0406\u0408"
    "\u0430\u0435\u043e\u0440\u0441\u0443\u0445\u0455\u0456\u0458\u04bb\u0501\u051b\u051d"
    "\u0391\u0392\u0395\u0396\u0397\u0399\u039a\u039c\u039d\u039f\u03a1\u03a4\u03a5\u03a7"
    "\u03bf\u03bd\u0131\u0269\u01e5\u0142\u00f8",
    "ABEKMHOPCTXSIJaeopcyxsijhdqwABEZHIKMNOPTYXoviiglo",
)
"""Cyrillic, Greek and odd Latin letters that look like plain ones (Unicode's confusables)."""
_NOT_ASCII = re.compile(r"[^\x00-\x7f]+")
_CODE_ESCAPE = re.compile(r"\\(?:u\{([0-9a-fA-F]{1,6})\}|u([0-9a-fA-F]{4})|x([0-9a-fA-F]{2}))")
_CSS_ESCAPE = re.compile(r"\\([0-9a-fA-F]{1,6})\s?")
_SLASH = re.compile(r"\\([/\"',;])")


def word_set(words: str) -> frozenset[str]:
    """Return the words of a list written with spaces between them."""
    return frozenset(words.split())


def plain(text: str) -> str:
    """Return `text` with one form for each kind of space, dash, quotation mark and letter.

    Full-width and superscript characters become ordinary ones (Unicode NFKC); invisible
    characters go.
    """
    if BREAK in text or "\x00" in text:
        text = text.replace(BREAK, " ").replace("\x00", " ")
    if text.isascii():
        return text
    return unicodedata.normalize("NFKC", text.translate(_SAME))


def folded(text: str) -> str:
    """Return `text` without accents and in Latin letters where others look like them; case stays.

    Examples
    --------
    >>> folded("Zoë Brontë")
    'Zoe Bronte'
    """
    if text.isascii():
        return text
    return _NOT_ASCII.sub(_without_accents, text)


def _without_accents(match: re.Match[str]) -> str:
    apart = unicodedata.normalize("NFKD", match[0])
    bare = "".join(char for char in apart if not unicodedata.combining(char))
    return bare.translate(_LOOKALIKES)


def _code_point(match: re.Match[str]) -> str:
    digits = next(group for group in match.groups() if group)
    number = int(digits, 16)
    return chr(number) if 0 < number <= sys.maxunicode else ""


def decoded(text: str, *, css: bool = False) -> str:
    """Return `text` with HTML, URL and script escapes undone, however often they were applied.

    Parameters
    ----------
    text
        Any text.
    css
        True to read a backslash as style sheets do.

    Examples
    --------
    >>> decoded("52%252E8312 &amp;amp; 1&#46;7135")
    '52.8312 & 1.7135'
    """
    for _ in range(_MAX_LAYERS):
        before = text
        if "&" in text:
            text = html.unescape(text)
        if "%" in text:
            text = unquote(text, errors="replace")
        if "\\" in text:
            if css:
                text = _CSS_ESCAPE.sub(_code_point, text)
            text = _SLASH.sub(r"\1", _CODE_ESCAPE.sub(_code_point, text))
            text = text.replace("\\n", "\n").replace("\\t", "\t")
        if text == before:
            break
    # Half of a surrogate pair can be written as an escape, yet not be encoded.
    return (
        text.encode("utf-16", "surrogatepass").decode("utf-16", "replace")
        if (not text.isascii())
        else text
    )


def readings(text: str, *, css: bool = False) -> tuple[str, ...]:
    """Return the distinct texts a reader could take from `text`: as written, and decoded."""
    written = plain(text)
    undone = plain(decoded(text, css=css))
    return (written,) if written == undone else (written, undone)
