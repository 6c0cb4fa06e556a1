"""Fills the templates of the group's own pages."""

from __future__ import annotations

from functools import lru_cache

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from eaveline.messages import equip, language, number
from eaveline.public.words.wording import english_only


def page(template: str, **values: object) -> bytes:
    """Return a page of HTML in the language that is spoken.

    Parameters
    ----------
    template
        Its name in papers/templates/.
    values
        What the template needs.
    """
    # Problems and lines of law are told in English only.
    foreign = Markup(' lang="%s"') % english_only() if english_only() else ""
    made = _environment().get_template(template).render(**values, in_english=foreign)
    return made.encode()


@lru_cache(maxsize=1)
def _environment() -> Environment:
    environment = equip(
        Environment(
            loader=PackageLoader("eaveline.papers"),
            autoescape=True,
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
        )
    )
    environment.globals |= {"language": language, "number": number}
    return environment
