"""Places whose owners agreed to be shown, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from eaveline.messages import gettext as _
from eaveline.messages import together
from eaveline.public.maps.layers import region_number

if TYPE_CHECKING:
    from eaveline.public.records import OpenSite, PublicRelease, Region

_KINDS = ("swift nest", "house martin nest", "swift box", "house martin box")


def listed_place(site: OpenSite) -> str:
    """Return a listed place in words, for example ``Ottersley Library: swift box, since 2022``."""
    values = {"place": site.name or "", "season": site.since}
    if site.name is None:
        return {
            "swift nest": _("Swift nest, since %(season)s", **values),
            "house martin nest": _("House martin nest, since %(season)s", **values),
            "swift box": _("Swift box, since %(season)s", **values),
            "house martin box": _("House martin box, since %(season)s", **values),
        }[site.what]
    return {
        "swift nest": _("%(place)s: swift nest, since %(season)s", **values),
        "house martin nest": _("%(place)s: house martin nest, since %(season)s", **values),
        "swift box": _("%(place)s: swift box, since %(season)s", **values),
        "house martin box": _("%(place)s: house martin box, since %(season)s", **values),
    }[site.what]


def listed_lines(release: PublicRelease) -> tuple[str, ...]:
    """Return all listed places: a line for each with a name, then one for each kind without."""
    named = sorted(listed_place(site) for site in release.open_sites if site.name is not None)
    region_of = {cell: region for region in release.regions for cell in region.cells}
    lines = []
    for kind in _KINDS:
        found = sorted(
            (int(region_number(region_of[site.cell].id)), site.since, region_of[site.cell])
            for site in release.open_sites
            if site.name is None and site.what == kind and site.cell in region_of
        )
        if found:
            places = together([_where(region, since) for _number, since, region in found])
            lines.append(_kind_line(kind, places))
    return (*named, *lines)


def _kind_line(kind: str, places: str) -> str:
    return {
        "swift nest": _("Swift nests in %(places)s", places=places),
        "house martin nest": _("House martin nests in %(places)s", places=places),
        "swift box": _("Swift boxes in %(places)s", places=places),
        "house martin box": _("House martin boxes in %(places)s", places=places),
    }[kind]


def _where(region: Region, since: str) -> str:
    values = {"number": region_number(region.id), "season": since}
    if len(region.cells) == 1:
        return _("square %(number)s (since %(season)s)", **values)
    return _("group of squares %(number)s (since %(season)s)", **values)
