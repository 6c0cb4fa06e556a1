"""The Atom feed of the group's news.

Its ids and dates come from the posts and the release, never from the clock, and it is valid
for a site that stands at no fixed address: RFC 4287 allows relative links, and ids are
name-based UUIDs (RFC 9562, version 5).
"""

from __future__ import annotations

import datetime as dt
import io
import uuid
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from feedgenerator import Atom1Feed

from eaveline.messages import gettext as _
from eaveline.messages import language

if TYPE_CHECKING:
    from pathlib import Path

    from eaveline.public.town import PublicTown

FEED_FOLDER_TO_ROOT = ".."
NEWEST = 20


class _Feed(Atom1Feed):  # type: ignore[misc]  # feedgenerator has no types
    """An Atom feed whose own date does not come from the clock when it has no posts."""

    def __init__(self, *, made_on: dt.datetime, **details: Any) -> None:
        super().__init__(**details)
        self._made_on = made_on

    def latest_post_date(self) -> dt.datetime:
        dates: list[dt.datetime] = [item["updateddate"] or item["pubdate"] for item in self.items]
        return max(dates, default=self._made_on)


def write_news_feed(
    articles: Sequence[Any], *, town: PublicTown, made_on: dt.date, path: Path
) -> None:
    """Write the newest posts as an Atom feed.

    Parameters
    ----------
    articles
        Pelican's articles, newest first.
    town
        Names the feed, and the site's address if it has one.
    made_on
        The release's date: the feed's own date while there are no posts.
    path
        The file to write, one folder below the site's top.
    """
    root = town.site_url or FEED_FOLDER_TO_ROOT
    base = town.site_url or f"eaveline:{town.group}"
    feed = _Feed(
        made_on=dt.datetime.combine(made_on, dt.time(), tzinfo=dt.UTC),
        title=_("News from the %(group)s", group=town.group),
        link=f"{root}/news/index.html",
        feed_url=f"{town.site_url}/feeds/{path.name}" if town.site_url else path.name,
        feed_guid=_urn(base, "news"),
        description=_("Swifts and house martins in %(town)s", town=town.name),
        author_name=town.group,
        language=language().html,
    )
    for article in articles[:NEWEST]:
        feed.add_item(
            title=article.title,
            link=f"{root}/{article.url}",
            unique_id=_urn(base, article.url),
            description=None,
            content=article.get_content(root),
            pubdate=article.date,
            updateddate=getattr(article, "modified", article.date),
            author_name=town.group,
        )
    text = io.StringIO()
    feed.write(text, "utf-8")
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(text.getvalue().encode("utf-8"))


def _urn(base: str, name: str) -> str:
    return uuid.uuid5(uuid.NAMESPACE_URL, f"{base}/{name}").urn
