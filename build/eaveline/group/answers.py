"""The six questions that a new town answers."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from pydantic import ValidationError

from eaveline.errors import InputError, Problem
from eaveline.private.places.gridref import GridSquare, parse_grid_ref
from eaveline.public.records import Nation
from eaveline.public.town import PublicTown

_LONGEST = 80
_EMAIL = re.compile(r"[^@\s<>,;]+@[^@\s<>,;]+\.[^@\s<>,;]+")
_SITE_URL = re.compile(r"https?://\S+")


@dataclass(frozen=True, slots=True)
class Question:
    """One question: its name is the key in town.toml and the name of the option."""

    name: str
    text: str
    complaint: Callable[[str], str | None]
    """Returns what is wrong with an answer, or None."""
    default: str | None = None


def _name_complaint(answer: str) -> str | None:
    if not answer:
        return "It is empty."
    if len(answer) > _LONGEST:
        return f"It is longer than {_LONGEST} signs."
    return None if answer.isprintable() else "It holds signs that cannot be printed."


def _nation_complaint(answer: str) -> str | None:
    names = [nation.value for nation in Nation]
    return None if answer in names else f"It has to be one of {', '.join(names)}."


def _centre_complaint(answer: str) -> str | None:
    if isinstance(parse_grid_ref(answer), GridSquare):
        return None
    return "It is no grid reference, such as TG 50 30 or (in Northern Ireland) J 33 74."


def _email_complaint(answer: str) -> str | None:
    return None if _EMAIL.fullmatch(answer) else "It is no e-mail address."


def _site_complaint(answer: str) -> str | None:
    if not answer or _SITE_URL.fullmatch(answer):
        return None
    return "It has to begin with https:// (or stay empty until you know it)."


QUESTIONS = (
    Question("name", "Your town's name", _name_complaint),
    Question(
        "nation",
        f"Which nation's law applies ({', '.join(Nation)})",
        _nation_complaint,
        default=Nation.ENGLAND.value,
    ),
    Question("centre", "A grid reference near the middle of the town", _centre_complaint),
    Question("group", "Your group's name", _name_complaint),
    Question("email", "The group's public e-mail address (not a member's own)", _email_complaint),
    Question("site_url", "Where the site will stand, if you know it", _site_complaint, default=""),
)


def tidy(answer: str) -> str:
    """Return an answer as it is kept: no spaces around it, no closing slash of an address.

    A nation is known however its letters are cased.

    >>> tidy("northern ireland")
    'Northern Ireland'

    >>> tidy(" https://swifts.example/town/ ")
    'https://swifts.example/town'
    """
    text = " ".join(answer.split())
    for nation in Nation:
        if text.casefold() == nation.value.casefold():
            return nation.value
    return text.rstrip("/") if _SITE_URL.fullmatch(text) else text


def town_of(answers: Mapping[str, str]) -> PublicTown:
    """Return the town that the answers describe.

    Parameters
    ----------
    answers
        An answer by each question's name.

    Raises
    ------
    InputError
        With a sentence for each answer that cannot be used.
    """
    tidied = {question.name: tidy(answers.get(question.name, "")) for question in QUESTIONS}
    problems = [
        _problem(question.name, complaint)
        for question in QUESTIONS
        if (complaint := question.complaint(tidied[question.name])) is not None
    ]
    if not problems and (complaint := _grid_complaint(tidied)) is not None:
        problems.append(_problem("centre", complaint))
    if problems:
        raise InputError(problems)
    try:
        return PublicTown.model_validate(tidied)
    except ValidationError as error:
        names = sorted({str(fault["loc"][0]) for fault in error.errors() if fault["loc"]})
        raise InputError(
            [_problem(name, "It cannot stand in town.toml.") for name in names]
        ) from None


def _grid_complaint(answers: Mapping[str, str]) -> str | None:
    square = parse_grid_ref(answers["centre"])
    own = "IE" if answers["nation"] == Nation.NORTHERN_IRELAND.value else "GB"
    if isinstance(square, GridSquare) and square.system == own:
        return None
    return "It belongs to another nation's grid: British ones have two letters, Irish ones one."


def _problem(name: str, complaint: str) -> Problem:
    return Problem(
        code="answer-unusable",
        what=f"This answer cannot be used. {complaint}",
        next_step=f"Give another after --{name.replace('_', '-')}, or leave that out to be asked.",
        column=name,
    )
