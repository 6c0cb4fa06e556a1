"""Reads a staged site as a stranger would, with the register at hand to compare."""

from __future__ import annotations

import hashlib
import re
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from urllib.parse import unquote

from eaveline.audit.addresses import address_hits
from eaveline.audit.angles import angle_hits
from eaveline.audit.approvals import Streets, photograph_hit, street_and_nest_hits, streets_of
from eaveline.audit.carriers import UNREADABLE, file_pieces, name_fragment
from eaveline.audit.contacts import Contacts, contact_hits, contacts_of
from eaveline.audit.coordinates import RULE as COORDINATE_RULE
from eaveline.audit.coordinates import Halves, Lone, coordinate_hits
from eaveline.audit.findings import (
    Allowance,
    AuditResult,
    Finding,
    Hit,
    digest_of,
    sort_out,
)
from eaveline.audit.fragments import Fault, Fragment, Kind, Photograph, Piece, Shape
from eaveline.audit.geocodes import GeocodePatterns, geocode_hits, geocode_patterns
from eaveline.audit.geometry import hex_geometry_hits, shape_hits
from eaveline.audit.gridrefs import GridLetters, grid_letters, gridref_hits
from eaveline.audit.houses import Addresses, addresses_of
from eaveline.audit.kilometres import kilometre_hits
from eaveline.audit.people import People, people_hits, people_of
from eaveline.audit.places import Places, places_of
from eaveline.audit.polylines import polyline_hits
from eaveline.audit.secrets import FloatArray, Secrets
from eaveline.audit.sources import Source
from eaveline.audit.text import BREAK, folded, readings
from eaveline.audit.topologies import topology_hits

_APART = f"\n{BREAK * 8}\n"
"""Wider than any gap that a rule bridges."""
_MAY_BE_EXACT = re.compile(r"\d(?:\d{4}|[.,\u00b7]\d{3}|\d\d[, ']\d{3})")
"""What every position written as numbers has; most texts are spared the closer look."""


@dataclass(slots=True, repr=False)
class _Read:
    """What the rules say of one text; the same text in another file is not read again."""

    hits: list[Hit] = field(default_factory=list)
    lone: list[str] = field(default_factory=list)


class _Batch:
    """Many texts joined into one: the patterns run once over it, not once for each text."""

    def __init__(self, texts: Iterable[tuple[str, _Read]]) -> None:
        parts, self.owners, self.starts, at = [], [], [], 0
        for text, owner in texts:
            parts.append(text)
            self.owners.append(owner)
            self.starts.append(at)
            at += len(text) + len(_APART)
        self.text = _APART.join(parts)

    def note(self, hits: Iterable[Hit]) -> None:
        """Give each hit to the text it was found in."""
        for hit in hits:
            i = bisect_right(self.starts, hit.offset) - 1
            here = replace(hit, offset=hit.offset - self.starts[i])
            self.owners[i].hits.append(here)

    def note_lone(self, lone: Iterable[Lone]) -> None:
        """Give each lone number to the text it was found in."""
        for number in lone:
            i = bisect_right(self.starts, number.offset) - 1
            self.owners[i].lone.append(number.axis)


@dataclass(slots=True, repr=False)
class _Reader:
    """The rules made ready for one town, with what they said of the texts so far."""

    places: Places
    letters: GridLetters
    geocodes: GeocodePatterns
    people: People
    contacts: Contacts
    addresses: Addresses
    streets: Streets
    known: dict[tuple[str, bool], _Read] = field(default_factory=dict)

    def read(self, fragments: Iterable[Fragment]) -> None:
        """Put the fragments' texts through the rules, each distinct text once."""
        new: list[tuple[str, _Read]] = []
        for fragment in fragments:
            key = _key(fragment)
            if key in self.known:
                continue
            found = self.known[key] = _Read()
            *written, undone = readings(fragment.text, css=key[1])
            found.hits += _polylines(fragment.text, undone, self.places)
            # Two readings of one text would count its lone numbers twice.
            new += [*((text, _Read(found.hits)) for text in written), (undone, found)]
        if not new:
            return
        exact = _Batch(entry for entry in new if _MAY_BE_EXACT.search(entry[0]))
        hits, lone = coordinate_hits(exact.text, self.places)
        exact.note(hits)
        exact.note_lone(lone)
        exact.note(hex_geometry_hits(exact.text, self.places))
        batch = _Batch(new)
        batch.note(angle_hits(batch.text, self.places))
        batch.note(gridref_hits(batch.text, self.places, self.letters))
        batch.note(geocode_hits(batch.text, self.places, self.geocodes))
        batch.note(kilometre_hits(batch.text, self.places))
        batch.note(contact_hits(batch.text, self.contacts))
        for text, owner in new:
            if "Topology" in text:
                owner.hits += topology_hits(text, self.places)
        if not batch.text.isascii():
            batch = _Batch((folded(text), owner) for text, owner in new)
        batch.note(people_hits(batch.text, self.people))
        batch.note(address_hits(batch.text, self.addresses))

    def said_of(self, fragment: Fragment) -> _Read:
        """Return what `read` found in a fragment's text."""
        return self.known[_key(fragment)]


def _polylines(text: str, undone: str, places: Places) -> list[Hit]:
    """Look for polylines in a text as it stands, and with each kind of escape undone by itself.

    A polyline may hold backslashes, which all escapes undone at once would eat.
    """
    forms = dict.fromkeys((text, unquote(text), text.replace("\\\\", "\\"), undone))
    return [hit for form in forms for hit in polyline_hits(form, places)]


def _key(fragment: Fragment) -> tuple[str, bool]:
    return fragment.text, fragment.kind is Kind.STYLE


def audit_site(
    site: Path,
    secrets: Secrets,
    *,
    allow: Iterable[Allowance] = (),
    public_vertices: FloatArray | None = None,
    trusted: Collection[str] = (),
    drawn: Collection[str] = (),
    content_pages: Collection[str] = (),
    sources: Mapping[str, Source] | None = None,
) -> AuditResult:
    """Look through every file of a site for what must not be published.

    Parameters
    ----------
    site
        The staged folder.
    secrets
        What to look for.
    allow
        The allow-list of town.toml. It lets a public place or a photograph pass, never a value
        of the register.
    public_vertices
        Shape (n, 2), in the town's system: every vertex of the published map layers, and
        any other point that may be shown.
    trusted
        SHA-256 digests of files that come unchanged from an installed package (Leaflet's, the
        theme's); their names are read, their contents are not.
    drawn
        SHA-256 digests of pictures drawn from public figures. They are no photographs that a
        person would have to look at; all else is looked for in them too.
    content_pages
        Paths below `site` of pages that a person wrote.
    sources
        For paths below `site`, the file of the group's own that each was made from: findings
        name it, and the line.

    Returns
    -------
    AuditResult
        The same for the same site, whatever the order in which the system lists files.
    """
    places = places_of(secrets, public_vertices)
    reader = _Reader(
        places=places,
        letters=grid_letters(places),
        geocodes=geocode_patterns(places),
        people=people_of(secrets),
        contacts=contacts_of(secrets),
        addresses=addresses_of(secrets),
        streets=streets_of(secrets),
    )
    trusted, written, drawings = frozenset(trusted), frozenset(content_pages), frozenset(drawn)
    found: list[tuple[str, Finding]] = []
    paths = sorted(path for path in site.rglob("*") if path.is_symlink() or not path.is_dir())
    for path in paths:
        name = path.relative_to(site).as_posix()
        sheet = _Sheet(reader, from_content=name in written)
        sheet.add(name_fragment(name))
        if path.is_symlink():
            # Where it leads on the server, nobody knows.
            sheet.add(Fault(UNREADABLE, "link to another place"))
        else:
            data = path.read_bytes()
            sheet.file_digest = hashlib.sha256(data).hexdigest()
            if sheet.file_digest not in trusted:
                for piece in file_pieces(name, data):
                    if not (isinstance(piece, Photograph) and piece.sha256 in drawings):
                        sheet.add(piece)
        found += sheet.findings(name)
    return sort_out(_with_sources(found, sources or {}, reader), allow, files_read=len(paths))


def _with_sources(
    found: list[tuple[str, Finding]], sources: Mapping[str, Source], reader: _Reader
) -> list[Finding]:
    """Return findings, each value's with the file and line of the group's own that has it."""
    origin: dict[str, tuple[str, int | None]] = {}
    lines = {
        source: _lines_of_values(source, reader)
        for source in {sources[finding.file] for _, finding in found if finding.file in sources}
    }
    for value, finding in found:
        source = sources.get(finding.file)
        if source is not None and origin.get(value, ("", None))[1] is None:
            origin[value] = (source.name, lines[source].get(value))
    nowhere = (None, None)
    return [
        replace(finding, source=source, source_line=line)
        for value, finding in found
        for source, line in [origin.get(value, nowhere)]
    ]


def _lines_of_values(source: Source, reader: _Reader) -> dict[str, int]:
    """Return the line on which each value that a rule finds stands in a text of the group's."""
    lines: dict[str, int] = {}
    for first, text in source.paragraphs():
        sheet = _Sheet(reader, from_content=True)
        sheet.add(Fragment(text, Kind.TEXT, "line", first))
        for value, finding in sheet.findings(source.name):
            lines.setdefault(value, int(finding.where.rpartition(" ")[2]))
    return lines


class _Sheet:
    """Gathers what is found in one file: each value once, with a count."""

    def __init__(self, reader: _Reader, *, from_content: bool) -> None:
        self.reader = reader
        self.from_content = from_content
        self.file_digest = ""
        self.texts: list[Fragment] = []
        self.found: dict[str, list[tuple[Hit, str]]] = defaultdict(list)

    def add(self, piece: Piece) -> None:
        """Put one piece of the file through the rules it is for; texts wait to be read at once."""
        if isinstance(piece, Fragment):
            self.texts.append(piece)
        elif isinstance(piece, Shape):
            for hit in shape_hits(piece, self.reader.places):
                self._note(hit, piece.where)
        elif isinstance(piece, Photograph):
            self._note(photograph_hit(piece), piece.where)
        else:
            # A file nobody can read may be allowed by its digest; hidden data may not.
            allowable = piece.rule == UNREADABLE and bool(self.file_digest)
            value = self.file_digest if allowable else f"{piece.rule} {piece.where}"
            self._note(Hit(piece.rule, value, allowable=allowable), piece.where)

    def _note(self, hit: Hit, where: str) -> None:
        self.found[hit.value].append((hit, where))

    def _read_texts(self) -> None:
        self.reader.read(self.texts)
        lone: list[str] = []
        for fragment in self.texts:
            read = self.reader.said_of(fragment)
            lone += read.lone
            for hit in read.hits:
                self._note(hit, _place(fragment, hit.offset))
            if self.from_content:
                for hit in street_and_nest_hits(fragment, self.reader.streets):
                    self._note(hit, _place(fragment, 0))
        if Halves.of(lone).make_a_place:
            hit = Hit(COORDINATE_RULE, "halves of a position")
            self._note(hit, "halves of positions in several places of the file")

    def findings(self, name: str) -> list[tuple[str, Finding]]:
        """Return each value found, with one finding for it."""
        self._read_texts()
        return [
            (
                value,
                Finding(
                    file=name,
                    rule=notes[0][0].rule,
                    where=notes[0][1],
                    count=len(notes),
                    # One sight of it that may not be allowed is enough.
                    digest=digest_of(notes[0][0])
                    if all(hit.allowable for hit, _ in notes)
                    else None,
                ),
            )
            for value, notes in self.found.items()
        ]


def _place(fragment: Fragment, offset: int) -> str:
    if fragment.line is None:
        return fragment.where
    line = fragment.line + fragment.text.count("\n", 0, offset)
    return f"line {line}" if fragment.where == "line" else f"{fragment.where}, line {line}"
