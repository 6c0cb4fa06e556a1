"""Asks the six questions of a new town in the terminal."""

from __future__ import annotations

from collections.abc import Mapping

import click

from eaveline.group.answers import QUESTIONS, tidy


def ask(given: Mapping[str, str | None]) -> dict[str, str]:
    """Return an answer to every question; those given already are not asked.

    An answer that cannot be used is explained, and the question comes again.
    """
    answers = {}
    for question in QUESTIONS:
        answer = given.get(question.name)
        while answer is None:
            answer = tidy(click.prompt(question.text, default=question.default))
            complaint = question.complaint(answer)
            if complaint is not None:
                click.echo(f"{complaint} Please try again.")
                answer = None
        answers[question.name] = answer
    return answers
