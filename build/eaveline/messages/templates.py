"""Teaches Jinja to say messages: ``{% trans %}…{% endtrans %}`` and ``{{ _("…") }}``."""

from __future__ import annotations

from typing import Any

from jinja2 import Environment, TemplateRuntimeError, pass_eval_context
from jinja2.ext import InternationalizationExtension
from jinja2.nodes import EvalContext
from markupsafe import Markup, escape

from eaveline.messages.language import language, number
from eaveline.messages.placeholders import has_stray_percent


class MessagesExtension(InternationalizationExtension):
    """Jinja's own extension, asking the language in use for every message.

    Where a template escapes what is put in, a message is taken for HTML and its values are
    escaped. ``num`` of a plural is the count with the language's marks.
    """

    def __init__(self, environment: Environment) -> None:
        """Put the functions into the environment."""
        super().__init__(environment)
        environment.policies["ext.i18n.trimmed"] = True
        # Tells the compiler that our functions fill the values in. Jinja's own would call twice
        # through the context for it, which thousands of pages feel.
        vars(environment)["newstyle_gettext"] = True
        environment.globals.update(
            {"gettext": _said, "_": _said, "ngettext": _counted, "pgettext": _meant}
        )


def equip(environment: Environment) -> Environment:
    """Teach an environment, and return it."""
    environment.add_extension(MessagesExtension)
    return environment


@pass_eval_context
def _said(context: EvalContext, message: str, /, **values: Any) -> str:
    return _filled(context, language().translations.gettext(message), values)


@pass_eval_context
def _meant(context: EvalContext, meaning: str, message: str, /, **values: Any) -> str:
    return _filled(context, language().translations.pgettext(meaning, message), values)


@pass_eval_context
def _counted(context: EvalContext, one: str, many: str, count: int, /, **values: Any) -> str:
    found = language().translations.ngettext(one, many, count)
    return _filled(context, found, {"num": number(count), **values})


def _filled(context: EvalContext, found: str, values: dict[str, Any]) -> str:
    if context.autoescape:
        values = {name: escape(value) for name, value in values.items()}
    # Even without values a doubled percent sign is for one.
    if "%" in found:
        if has_stray_percent(found):
            msg = "a percent sign in the words stands for nothing; write %% for a percent sign"
            raise TemplateRuntimeError(msg)
        try:
            found %= values
        except KeyError as missing:
            msg = f"the words name %({missing.args[0]})s, which is not given beside them"
            raise TemplateRuntimeError(msg) from None
    return Markup(found) if context.autoescape else found  # noqa: S704 - ours, or checked to have the same HTML; values are escaped
