"""What the audit found, told without repeating it.

A finding names a file, a rule, a place in the file. Its digest serves the allow-list in
town.toml. Only what a person may judge harmless has one: a digest of a short private value, such
as an address, could be undone by trying every address.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import NamedTuple, Protocol

from eaveline.errors import Problem


class Allowance(Protocol):
    """An entry of the allow-list: a digest with the reason why it is harmless."""

    @property
    def sha256(self) -> str:
        """The digest that the report showed."""
        ...

    @property
    def reason(self) -> str:
        """Why a person let it pass."""
        ...


@dataclass(frozen=True, slots=True)
class Hit:
    """Something a rule noticed in a text; `value` stays in memory."""

    rule: str
    value: str = field(repr=False)
    offset: int = 0
    allowable: bool = False


@dataclass(frozen=True, slots=True, order=True)
class Finding:
    """One thing in one file that must not be published as it is."""

    file: str
    rule: str
    where: str
    """The kind of place and, where it has one, the line; the first of `count`."""
    count: int = 1
    digest: str | None = None
    """None where nobody may allow it."""
    source: str | None = None
    """The group's own file that it comes from, if that is known."""
    source_line: int | None = None


class Allowed(NamedTuple):
    """A finding that town.toml lets pass."""

    finding: Finding
    reason: str


@dataclass(frozen=True, slots=True)
class AuditResult:
    """What the audit of one staged site came to."""

    findings: tuple[Finding, ...]
    allowed: tuple[Allowed, ...] = ()
    unused_allowances: tuple[str, ...] = ()
    """Digests on the allow-list that matched nothing; they can go."""
    files_read: int = 0

    @property
    def passed(self) -> bool:
        """True if the site may be published."""
        return not self.findings


def digest_of(hit: Hit) -> str | None:
    """Return the hit's digest for the allow-list, or None if nobody may allow it.

    A photograph's value is already the digest of its bytes.
    """
    if not hit.allowable:
        return None
    if hit.rule in ("new-photograph", "unreadable-file"):
        return hit.value
    return hashlib.sha256(hit.value.encode("utf-8", "replace")).hexdigest()


class _Words(NamedTuple):
    what: str
    next_step: str


_RULES = {
    "coordinate": _Words(
        "A position inside the town is given more exactly than one of the map's squares.",
        "Take it out, or name the place in words.",
    ),
    "grid-reference": _Words(
        "A grid reference inside the town is finer than one of the map's squares.",
        "Shorten it, or take it out.",
    ),
    "off-grid-geometry": _Words(
        "A shape or point inside the town follows neither the map's squares nor its public lines.",
        "Take it out of the file.",
    ),
    "person": _Words(
        "The name of a recorder, member or host is there.",
        "Take the name out; say 'a member' or 'a neighbour'.",
    ),
    "contact": _Words(
        "An e-mail address, telephone number or full postcode is there.",
        "Take it out; the group's public address in town.toml may stand.",
    ),
    "address": _Words(
        "A house of the town is named with its street.",
        "Name the street alone. A public building may stand once town.toml lists it under"
        " [[public_buildings]].",
    ),
    "street-and-nest": _Words(
        "A sentence puts a street together with a nest, which may point to a house.",
        "Reword the sentence so that it names no street.",
    ),
    "new-photograph": _Words(
        "This picture has not been approved yet; look for house numbers, name plates and"
        " anything that tells which house it is.",
        "Take the picture out if in doubt.",
    ),
    "image-metadata": _Words(
        "The picture carries hidden data (such as place, time, author or a smaller copy).",
        "Save the picture again without it, or take the picture out.",
    ),
    "pdf-metadata": _Words(
        "The PDF carries hidden data (such as its author, keywords or an attachment).",
        "Save it again without document properties, or take it out.",
    ),
    "unreadable-file": _Words(
        "The audit cannot read this kind of file, so nobody knows what it tells.",
        "Publish it in an open format (text, CSV, PDF, PNG), or take it out.",
    ),
}

_MOST_PLACES = 3

RULES: tuple[str, ...] = tuple(_RULES)
"""Every rule's name, in the order the modules come."""


def audit_problems(result: AuditResult) -> list[Problem]:
    """Return a problem for each finding, or for all that come from one line of content/.

    Parameters
    ----------
    result
        What `audit_site` returned.

    Returns
    -------
    list of Problem
        In the order of the findings; the code is ``audit-`` and the rule's name.
    """
    together: dict[tuple[object, ...], list[Finding]] = {}
    for finding in result.findings:
        # What one line of content/ says comes back on several pages, in the feed, in the search.
        key = (finding.source, finding.source_line, finding.rule, finding.digest)
        together.setdefault(key if finding.source else (finding,), []).append(finding)
    return [_problem(group) for group in together.values()]


def _problem(findings: list[Finding]) -> Problem:
    first = findings[0]
    what, step = _RULES[first.rule]
    if first.digest is not None:
        step = (
            f"{step} If you are sure it is harmless, add three lines to the end of town.toml:"
            f' [[audit_allow]] and sha256 = "{first.digest}" and reason = "…".'
        )
    if first.source is None:
        file, place = f"site/{first.file}", f"Place: {_where(first)}."
    else:
        file = first.source
        places = list(dict.fromkeys(f"{each.file}, {_where(each)}" for each in findings))
        more = f" and {len(places) - _MOST_PLACES} more" if len(places) > _MOST_PLACES else ""
        place = f"In the site it would stand in {'; '.join(places[:_MOST_PLACES])}{more}."
    return Problem(
        code=f"audit-{first.rule}",
        what=f"{what} {place}",
        next_step=step,
        file=file,
        row=first.source_line,
    )


def _where(finding: Finding) -> str:
    return f"{finding.where} ({finding.count} times)" if finding.count > 1 else finding.where


def sort_out(
    findings: Iterable[Finding], allow: Iterable[Allowance], *, files_read: int
) -> AuditResult:
    """Divide findings into those that stand and those that the allow-list lets pass.

    Parameters
    ----------
    findings
        In any order; they come back sorted by file.
    allow
        The allow-list. An entry can't match a finding that has no digest.
    files_read
        How many files the audit read.
    """
    reasons = {entry.sha256: entry.reason for entry in allow}
    stand: list[Finding] = []
    passed: list[Allowed] = []
    for finding in sorted(findings, key=lambda f: (f.file, f.rule, f.where, f.digest or "")):
        reason = reasons.get(finding.digest) if finding.digest else None
        if reason is None:
            stand.append(finding)
        else:
            passed.append(Allowed(finding, reason))
    used = {item.finding.digest for item in passed}
    return AuditResult(
        findings=tuple(stand),
        allowed=tuple(passed),
        unused_allowances=tuple(sorted(set(reasons) - used)),
        files_read=files_read,
    )
