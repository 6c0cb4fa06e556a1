"""Templates are compiled once in a process, and never from an older source."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import jinja2
import pytest

from eaveline.public.pages.templates import OPTIONS, compile_templates
from eaveline.public.site import default_theme


def environment(folder: Path) -> jinja2.Environment:
    return jinja2.Environment(loader=jinja2.FileSystemLoader(folder), **OPTIONS)  # noqa: S701 - autoescape is in the options


@pytest.fixture
def compiled(monkeypatch: pytest.MonkeyPatch) -> list[str | None]:
    """Return the names of the templates that are compiled from now on."""
    names: list[str | None] = []
    generate = jinja2.Environment._generate

    def noted(self: jinja2.Environment, *words: Any, **more: Any) -> str:
        names.append(words[1])
        return generate(self, *words, **more)

    monkeypatch.setattr(jinja2.Environment, "_generate", noted)
    return names


def test_a_site_made_later_compiles_nothing_again(compiled: list[str | None]) -> None:
    folder = default_theme() / "templates"
    compile_templates(folder)
    compiled.clear()
    site = environment(folder)
    for name in ("street.html", "map.html", "sitemap.xml"):
        site.get_template(name)
    assert compiled == []


def test_another_environment_takes_a_changed_source(
    tmp_path: Path, compiled: list[str | None]
) -> None:
    page = tmp_path / "page.html"
    page.write_text("old", encoding="utf-8")
    compile_templates(tmp_path)
    page.write_text("new {{ name }}", encoding="utf-8")
    assert environment(tmp_path).get_template("page.html").render(name="<b>") == "new &lt;b&gt;"
    assert compiled == ["page.html", "page.html"]


def test_a_broken_template_is_left_to_the_site(tmp_path: Path) -> None:
    (tmp_path / "bad.html").write_text("{% if %}", encoding="utf-8")
    (tmp_path / "good.html").write_text("good", encoding="utf-8")
    compile_templates(tmp_path)
    with pytest.raises(jinja2.TemplateSyntaxError):
        environment(tmp_path).get_template("bad.html")
