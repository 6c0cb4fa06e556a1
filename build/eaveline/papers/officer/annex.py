"""The confidential annex: exact places near a site, for an officer's eyes only."""

from __future__ import annotations

import datetime as dt
from collections.abc import Hashable, Mapping, Sequence
from typing import Any, Final

import numpy as np
import pandas as pd
from shapely.geometry.base import BaseGeometry

from eaveline.messages import day, ngettext, number
from eaveline.messages import gettext as _
from eaveline.papers.officer.asks import asks
from eaveline.papers.officer.document import (
    Block,
    Document,
    bullets,
    facts,
    figure,
    heading,
    paragraph,
    signature,
    table,
)
from eaveline.papers.officer.effort import Effort
from eaveline.papers.officer.sheet import (
    Application,
    application_facts,
    contact,
    law_blocks,
    sourced,
)
from eaveline.papers.officer.site_map import Mark, site_map
from eaveline.private.planning.screen import (
    BAND_EDGES_M,
    BAND_WORDS,
    ON_SITE,
    POINT_SITE_M,
    Known,
    age_class,
    bands_of,
    distances_m,
    on_site_reach_m,
)
from eaveline.public.maps.basemap import BaseMap
from eaveline.public.records import PublicRelease
from eaveline.public.town import PublicTown
from eaveline.public.words.law import nation_law, standards
from eaveline.terms import term

LISTED_M = 100.0
"""Places are listed one by one up to here, and counted beyond (common practice)."""
_LISTED_BAND: Final = 2
"""That of 25 to 100 m."""
_MOST_LISTED = 60


def confidential_annex(
    application: Application,
    known: Known,
    hits: pd.DataFrame,
    effort: Effort,
    *,
    release: PublicRelease,
    basemap: BaseMap,
    town: PublicTown,
) -> Document:
    """Return the annex for one application.

    Parameters
    ----------
    application
        From the council's list.
    known
        Everything with a place.
    hits
        The application's own rows of `screen`.
    effort
        Watches near the site.
    release, basemap, town
        Give the records' date, the streets, and the group.
    """
    at = application.received or release.made_on
    near = _near(application.shape, known)
    blocks: list[Block] = [
        paragraph(
            _(
                "Draft by %(group)s, for a member to check and sign. Hand it to the case officer "
                "or the council's ecologist in person or by a channel they name, and to nobody "
                "else. It must not be published, attached to a representation or sent to the "
                "applicant.",
                group=town.group,
            )
        ),
        paragraph(
            _(
                "An officer may be unable to rely on what an applicant cannot see. If the decision "
                "has to rest on this paper, ask the group first; the publishable sheet was written "
                "to stand without it. If a request under the Environmental Information Regulations "
                "comes in, tell the group before anything is released."
            )
        ),
        heading(_("The application")),
        application_facts(
            application,
            radius=_("the site, and up to 25 m, 100 m, 500 m and 1 km from it"),
            records_to=release.made_on,
        ),
        heading(_("On the site and within 100 m")),
        *_places(near, at=at),
        *_map(application, near, basemap),
        heading(_("By distance, out to 1 km")),
        *_bands(hits, at=at),
        _age_note(application),
        heading(_("Effort and limits")),
        bullets(effort.words()),
        paragraph(
            _(
                "Evidence follows the EBCC atlas: possible (codes 1-2), probable (3-9), confirmed "
                "(10-16). The group's register keeper merged the records; nobody outside the group "
                "has verified them. A place is good to the metres stated beside it. Distances are "
                "measured from the site's outline; where the council gives only a point, "
                "%(metres)s m about it counts as the site.",
                metres=number(POINT_SITE_M, decimals=0),
            )
        ),
        *law_blocks(nation_law(town.nation)),
        heading(_("What we ask for")),
        bullets(asks(dwellings=application.dwellings)),
        heading(_("Whom to ask")),
        contact(town, release),
        signature(),
    ]
    return Document(
        title=_("Confidential annex: application %(reference)s", reference=application.reference),
        made_on=release.made_on.isoformat(),
        marking=marking(),
        blocks=tuple(blocks),
    )


def marking() -> str:
    """Return what stands on every page."""
    return _("CONFIDENTIAL: exact places of nests. Not for the public file.")


def _near(shape: BaseGeometry, known: Known) -> pd.DataFrame:
    """Return nest sites and boxes up to 100 m away: the newest record of each, nearest first."""
    found = known.table[known.table["kind"].isin(["nest site", "box"]).to_numpy()]
    metres = distances_m(shape, found[["easting", "northing"]].to_numpy(dtype=np.float64))
    close = metres <= LISTED_M
    near = found[close].assign(
        distance_m=metres[close],
        band=bands_of(metres[close], on_site_m=on_site_reach_m(shape)),
    )
    # Ordered oldest first, so the last of each place is its newest record.
    same = ["kind", "species", "easting", "northing", "name"]
    seasons = near.groupby(same, dropna=False)["season"].transform("nunique")
    newest = near.assign(seasons=seasons).drop_duplicates(same, keep="last")
    return newest.sort_values(["distance_m", "kind", "species", "easting", "northing"]).head(
        _MOST_LISTED
    )


def _places(near: pd.DataFrame, *, at: dt.date) -> list[Block]:
    if near.empty:
        return [
            paragraph(
                _(
                    "No nest site or box is on record here. That is no proof that there is none: "
                    "see the effort below."
                )
            )
        ]
    rows = [
        (
            str(place),
            kind_words(row),
            str(row["name"]) if isinstance(row["name"], str) else "",
            _(
                "%(easting)s %(northing)s (\u00b1%(metres)s m)",
                easting=f"{row['easting']:.0f}",
                northing=f"{row['northing']:.0f}",
                metres=number(row["uncertainty_m"], decimals=0),
            ),
            _("on the site")
            if row["band"] == ON_SITE
            else _("%(metres)s m", metres=number(row["distance_m"], decimals=0)),
            _(
                "%(evidence)s, %(season)s",
                evidence=term(row["evidence"]),
                season=_season(row["season"]),
            ),
            _last(row["last"], at=at),
        )
        for place, row in enumerate(near.to_dict("records"), start=1)
    ]
    header = (
        _("No."),
        _("What"),
        _("Name"),
        _("Easting, northing"),
        _("Distance"),
        _("Newest evidence"),
        _("Last record, age"),
    )
    caption = _("Each nest site and box, nearest first; a site's newest season")
    return [table(caption, header, rows)]


def kind_words(row: Mapping[Hashable, Any]) -> str:
    """Return what a row of `Known` is: its species, and whether a nest site, a box or a party."""
    return _("%(species)s, %(kind)s", species=term(row["species"]), kind=term(row["kind"]))


def _season(season: int) -> str:
    return str(season) if season else _("year not known")


def _seasons(first: int, last: int) -> str:
    if first == last or not first:
        return _season(last)
    return _("%(first)s to %(last)s", first=first, last=last)


def _last(last: pd.Timestamp, *, at: dt.date) -> str:
    if pd.isna(last):
        return _("not known")
    return _(
        "%(date)s; %(age)s", date=day(last.date()), age=term(age_class(last.date(), at=at).value)
    )


def _bands(hits: pd.DataFrame, *, at: dt.date) -> list[Block]:
    if hits.empty:
        return [
            paragraph(_("No record is held within 1 km. No inference of absence can be drawn."))
        ]
    # Farther away than places are listed, a line for every season would fill pages.
    merged = hits["season"].where(hits["band"] <= _LISTED_BAND, 0)
    ordered = (
        hits.assign(latest=hits["season"], merged=merged)
        .groupby(["band", "kind", "species", "merged", "evidence"], as_index=False)
        .agg(
            season=("season", "min"),
            latest=("latest", "max"),
            records=("records", "sum"),
            last=("last", "max"),
        )
        .sort_values(
            ["band", "kind", "species", "latest", "evidence"],
            ascending=[True, True, True, False, True],
        )
    )
    rows: list[Sequence[str]] = [
        (
            term(BAND_WORDS[row["band"]]),
            kind_words(row),
            _seasons(row["season"], row["latest"]),
            term(str(row["evidence"])),
            number(row["records"]),
            _last(row["last"], at=at),
        )
        for row in ordered.to_dict("records")
    ]
    return [
        table(
            _("Records by distance, evidence and season; a nest site counts once a season"),
            (
                _("Distance"),
                _("What"),
                _("Season"),
                _("Evidence"),
                _("Number"),
                _("Last record, age"),
            ),
            rows,
        )
    ]


def _age_note(application: Application) -> Block:
    line = standards().age_of_records
    counted = (
        _("Counted at the date of receipt.")
        if application.received
        else _("Counted at the newest record's date.")
    )
    return facts([(_("Age"), counted), (_("What age means"), sourced(line))])


def _map(application: Application, near: pd.DataFrame, basemap: BaseMap) -> list[Block]:
    marks = [
        Mark(easting, northing, str(place))
        for place, (easting, northing) in enumerate(
            zip(near["easting"], near["northing"], strict=True), start=1
        )
    ]
    svg, scale = site_map(
        application.shape,
        basemap=basemap,
        marks=marks,
        rings_m=BAND_EDGES_M[:2],
        around_m=BAND_EDGES_M[1] + 10,
    )
    caption = _(
        "The site (thick line), lines at 25 m and 100 m from it, and the places of the table by "
        "their numbers. 1:%(scale)s when printed on A4, north up.",
        scale=number(scale),
    )
    alt = ngettext(
        "Map of the site of application %(reference)s with %(num)s numbered place within 100 m. "
        "The table above gives its easting and northing.",
        "Map of the site of application %(reference)s with %(num)s numbered places within 100 m. "
        "The table above gives their eastings and northings.",
        len(marks),
        reference=application.reference,
    )
    return [figure(caption, svg, alt)]
