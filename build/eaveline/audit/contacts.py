"""Finds e-mail addresses, telephone numbers, full postcodes."""

from __future__ import annotations

import re
from dataclasses import dataclass

from eaveline.audit.findings import Hit
from eaveline.audit.secrets import Secrets
from eaveline.audit.text import word_set

RULE = "contact"

_DISGUISED = re.compile(r"[(\[{]\s*(?:@|at)\s*[)\]}]|\bdot\b", re.IGNORECASE)
_EMAIL = re.compile(
    r"(?<![\w.+%-])[\w.+%-]{1,64}"
    r"(?:@|\s*[(\[{]\s*(?:@|at)\s*[)\]}]\s*|\s+at\s+(?=[\w-]+\s*(?:[(\[{]\s*dot|\s+dot\s)))"
    r"(?P<domain>[a-z0-9-]+(?:(?:\.|\s*[(\[{]\s*(?:\.|dot)\s*[)\]}]\s*|\s+dot\s+)[a-z0-9-]+)+)",
    re.IGNORECASE,
)
_EMAIL_AT = re.compile(r"\s*[(\[{]\s*(?:@|at)\s*[)\]}]\s*|\s+at\s+", re.IGNORECASE)
_EMAIL_DOT = re.compile(r"\s*[(\[{]\s*(?:\.|dot)\s*[)\]}]\s*|\s+dot\s+", re.IGNORECASE)
_MARKED = re.compile(r"[@(\[{]")
_ENDINGS = word_set("com org net uk co eu info ie scot wales cymru gov ac email me example")
"""What an address spelt out in words ends with."""
_FILE_ENDINGS = word_set("png jpg jpeg gif svg webp avif css js map html json csv woff2")

# British or Irish numbers: +44, 0044 or 0, then a first digit that is in use.
_PHONE = re.compile(
    r"(?<![\w.])(?:(?:\+|\b00)\s?(?:44|353)[\s.\-/]*(?:\(0\)|\(?0?\)?)?[\s.\-/]*\(?|\(?0)"
    r"(?P<rest>[1-35789]\d{0,4}\)?(?:[\s.\-/()]{0,2}\d){5,9})(?![\w])",
)
_NATIONAL_DIGITS = 10
"""Digits after the leading 0 (Ofcom, National Telephone Numbering Plan; a few old areas have 9)."""

# Postcode areas (Royal Mail's list of 124).
_AREAS = word_set(
    "AB AL BA BB BD BH BL BN BR BS BT B CA CB CF CH CM CO CR CT CV CW DA DD DE DG DH DL DN DT DY"
    " EC EH EN EX E FK FY GL GU GY G HA HD HG HP HR HS HU HX IG IM IP IV JE KA KT KW KY LA LD LE"
    " LL LN LS LU L ME MK ML M NE NG NN NP NR NW N OL OX PA PE PH PL PO PR RG RH RM SA SE SG SK"
    " SL SM SN SO SP SR SS ST SW SY S TA TD TF TN TQ TR TS TW UB WA WC WD WF WN WR WS WV W YO ZE"
)
_POSTCODE = re.compile(
    r"(?<![^\W_])(?P<area>[A-Z]{1,2})(?P<district>\d[A-Z\d]?)"
    r"(?P<gap>[\s+._-]{0,2})(?P<in>\d[ABD-HJLNP-UW-Z]{2})(?![^\W_])",
    re.IGNORECASE,
)
_ORDINAL_OR_UNIT = re.compile(r"\d(?:st|nd|rd|th|px|pt|pp|ft)")


@dataclass(frozen=True, slots=True, repr=False)
class Contacts:
    """The register's contacts, the public ones, and a pattern for odd numbers."""

    private: frozenset[str]
    public: frozenset[str]
    listed: re.Pattern[str] | None
    """Digits of the register's own numbers, in whatever grouping."""

    def __repr__(self) -> str:
        """Return counts, never a value."""
        return f"Contacts({len(self.private)} private, {len(self.public)} public)"


def _national(number: str) -> str:
    """Return a telephone number's digits as dialled inside the country."""
    digits = re.sub(r"\D", "", number)
    if number.strip().startswith("+") or digits.startswith("00"):
        digits = re.sub(r"^(?:00)?(?:44|353)0?", "0", digits)
    return digits


def canonical(contact: str) -> str:
    """Return one spelling for each e-mail address, telephone number, postcode.

    Examples
    --------
    >>> canonical("+44 (0)1632 960 001"), canonical("zz1 9zz"), canonical("A.B@C.Example")
    ('01632960001', 'ZZ19ZZ', 'a.b@c.example')
    """
    if "@" in contact:
        return contact.strip().casefold()
    if re.search("[A-Za-z]", contact):
        return re.sub(r"[\W_]", "", contact).upper()
    return _national(contact)


def contacts_of(secrets: Secrets) -> Contacts:
    """Return the contacts to look for; a public one is never private."""
    public = frozenset(map(canonical, secrets.public_contacts))
    private = frozenset(map(canonical, secrets.contacts)) - public - {""}
    shortest = 6
    numbers = sorted(
        value.lstrip("0") for value in private if value.isdigit() and len(value) >= shortest
    )
    spaced = [r"[\s.\-/()]{0,2}".join(number) for number in numbers]
    listed = re.compile(rf"(?<![\d.])0?\(?(?:{'|'.join(spaced)})(?!\d)") if spaced else None
    return Contacts(private, public, listed)


def contact_hits(text: str, contacts: Contacts) -> list[Hit]:
    """Find every contact that is not a public one; those in the register can't be allowed.

    Parameters
    ----------
    text
        A text as `text.readings` gives it.
    contacts
        From `contacts_of`.
    """
    found: list[tuple[int, str]] = []
    # A plain search is much quicker than the pattern, and most texts hold no address.
    if "@" in text or _DISGUISED.search(text):
        found += [(m.start(), value) for m in _EMAIL.finditer(text) if (value := _email(m))]
    found += [
        (match.start(), _national(match[0]))
        for match in _PHONE.finditer(text)
        if len(re.sub(r"\D", "", match["rest"])) == _NATIONAL_DIGITS
    ]
    found += [(m.start(), canonical(m[0])) for m in _POSTCODE.finditer(text) if _is_postcode(m)]
    if contacts.listed is not None:
        found += [
            (match.start(), "0" + re.sub(r"\D", "", match[0]).lstrip("0"))
            for match in contacts.listed.finditer(text)
        ]
    return [
        Hit(RULE, value, start, allowable=value not in contacts.private)
        for start, value in found
        if value not in contacts.public
    ]


def _email(match: re.Match[str]) -> str | None:
    domain = _EMAIL_DOT.sub(".", match["domain"])
    ending = domain.rpartition(".")[2].lower()
    if not _MARKED.search(match[0]) and ending not in _ENDINGS:
        return None  # Plain words, such as 'meet at the dot on the map'.
    if ending in _FILE_ENDINGS or ending.isdigit():
        return None  # A picture's name such as icon@2x.png, a version such as tool@1.2.3.
    return _EMAIL_DOT.sub(".", _EMAIL_AT.sub("@", match[0])).strip("._-+% ").casefold()


def _is_postcode(match: re.Match[str]) -> bool:
    if match["area"].upper() not in _AREAS or _ORDINAL_OR_UNIT.fullmatch(match["in"]):
        return False
    # In small letters only with a gap: identifiers and hexadecimal text look alike otherwise.
    return match["area"].isupper() or bool(match["gap"])
