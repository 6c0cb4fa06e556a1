"""Pelican's settings for one site.

They are copied into every template's context, so nothing may stand here that is not public.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from eaveline.public.pages.live_figures import LiveFigures
from eaveline.public.pages.pelican_plugin import CarefulMarkdownReader, SitePlugin
from eaveline.public.pages.site_pages import SitePages, downloads_in
from eaveline.public.pages.templates import OPTIONS
from eaveline.public.words import wording

if TYPE_CHECKING:
    from eaveline.public.maps.basemap import BaseMap
    from eaveline.public.pages.build_log import BuildLog
    from eaveline.public.records import PublicRelease
    from eaveline.public.site import SiteJob

_MARKDOWN: dict[str, Any] = {
    "extension_configs": {
        # A style attribute would break the security policy.
        "markdown.extensions.extra": {"tables": {"use_align_attribute": True}},
        "markdown.extensions.meta": {},
        "markdown.extensions.sane_lists": {},
    },
    "output_format": "html",
}


def pelican_settings(
    job: SiteJob, *, release: PublicRelease, basemap: BaseMap | None, log: BuildLog
) -> dict[str, Any]:
    """Return the settings that differ from Pelican's own.

    Parameters
    ----------
    job
        The site to build.
    release, basemap
        What the pages are made from; `basemap` is None where the release has no map.
    log
        Takes the problems found in content pages.
    """
    overrides, package_theme = job.theme[:-1], job.theme[-1]
    content = job.content if job.content.is_dir() else job.out / "data"
    site = SitePages(
        release,
        town=job.town,
        basemap=basemap,
        downloads=downloads_in(job.out / "data"),
        centre_m=job.centre_m,
    )
    return {
        "PATH": str(content),
        "OUTPUT_PATH": str(job.out),
        "PLUGINS": [SitePlugin(log)],
        "READERS": {"md": CarefulMarkdownReader, "html": None, "htm": None, "rst": None},
        "SITE": site,
        # Addresses: folders with an index.html, linked relatively.
        "SITENAME": job.town.group,
        "SITEURL": "",
        "RELATIVE_URLS": True,
        "PAGE_PATHS": ["pages"],
        "PAGE_URL": "{slug}/index.html",
        "PAGE_SAVE_AS": "{slug}/index.html",
        "ARTICLE_PATHS": ["news"],
        "ARTICLE_URL": "news/{slug}/index.html",
        "ARTICLE_SAVE_AS": "news/{slug}/index.html",
        "SLUGIFY_SOURCE": "basename",
        "FILENAME_METADATA": r"(?P<date>\d{4}-\d{2}-\d{2})",
        "STATIC_PATHS": ["images", "files"],
        "MARKDOWN": {**_MARKDOWN, "extensions": [LiveFigures(site)]},
        # Pelican's lists by tag, author and category are switched off.
        "DIRECT_TEMPLATES": [],
        **dict.fromkeys(("TAG_SAVE_AS", "CATEGORY_SAVE_AS", "AUTHOR_SAVE_AS"), ""),
        **dict.fromkeys(
            (
                "FEED_ALL_ATOM",
                "CATEGORY_FEED_ATOM",
                "AUTHOR_FEED_ATOM",
                "AUTHOR_FEED_RSS",
                "TRANSLATION_FEED_ATOM",
            )
        ),
        # The same bytes on any machine and day.
        "LOCALE": ["C"],
        "TIMEZONE": "UTC",
        "DEFAULT_LANG": job.town.language,
        "WITH_FUTURE_DATES": True,
        "CACHE_CONTENT": False,
        "LOAD_CONTENT_CACHE": False,
        "DELETE_OUTPUT_DIRECTORY": False,
        # Templates: the town's own first, then those of the package.
        "THEME": str(package_theme),
        "THEME_TEMPLATES_OVERRIDES": [str(folder / "templates") for folder in overrides],
        "THEME_STATIC_PATHS": ["static"]
        + [
            str(folder / "static") for folder in reversed(overrides) if (folder / "static").is_dir()
        ],
        "TEMPLATE_EXTENSIONS": [".html", ".xml"],
        "CSS_FILE": "",
        "JINJA_ENVIRONMENT": OPTIONS,
        "JINJA_GLOBALS": {"say": wording},
    }
