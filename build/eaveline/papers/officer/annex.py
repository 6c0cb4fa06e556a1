"""The confidential annex: exact places near a site, for an officer's eyes only."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

import numpy as np
import pandas as pd
from shapely.geometry.base import BaseGeometry

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
from eaveline.public.basemap import BaseMap
from eaveline.public.law import nation_law, standards
from eaveline.public.records import PublicRelease
from eaveline.public.town import PublicTown
from eaveline.public.wording import date

MARKING = "CONFIDENTIAL: exact places of nests. Not for the public file."
LISTED_M = 100.0
"""Places are listed one by one up to here, and counted beyond (common practice)."""
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
            f"Draft by {town.group}, for a member to check and sign. Hand it to the case officer "
            "or the council's ecologist in person or by a channel they name, and to nobody else. "
            "It must not be published, attached to a representation or sent to the applicant."
        ),
        paragraph(
            "An officer may be unable to rely on what an applicant cannot see. If the decision has "
            "to rest on this paper, ask the group first; the publishable sheet was written to "
            "stand without it. If a request under the Environmental Information Regulations "
            "comes in, tell the group before anything is released."
        ),
        heading("The application"),
        application_facts(
            application,
            radius="the site, and up to 25 m, 100 m, 500 m and 1 km from it",
            records_to=release.made_on,
        ),
        heading("On the site and within 100 m"),
        *_places(near, at=at),
        *_map(application, near, basemap),
        heading("By distance, out to 1 km"),
        *_bands(hits, at=at),
        _age_note(application),
        heading("Effort and limits"),
        bullets(effort.words()),
        paragraph(
            "Evidence follows the EBCC atlas: possible (codes 1-2), probable (3-9), confirmed "
            "(10-16). The group's register keeper merged the records; nobody outside the group has "
            "verified them. A place is good to the metres stated beside it. Distances are "
            f"measured from the site's outline; where the council gives only a point, "
            f"{POINT_SITE_M:.0f} m about it counts as the site."
        ),
        *law_blocks(nation_law(town.nation)),
        heading("What we ask for"),
        bullets(asks(dwellings=application.dwellings)),
        heading("Whom to ask"),
        contact(town, release),
        signature(),
    ]
    return Document(
        title=f"Confidential annex: application {application.reference}",
        made_on=release.made_on.isoformat(),
        marking=MARKING,
        blocks=tuple(blocks),
    )


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
                "No nest site or box is on record here. That is no proof that there is none: see "
                "the effort below."
            )
        ]
    rows = [
        (
            str(number),
            f"{row['species']}, {row['kind']}",
            str(row["name"]) if isinstance(row["name"], str) else "",
            f"{row['easting']:.0f} {row['northing']:.0f} (\u00b1{row['uncertainty_m']:.0f} m)",
            "on the site" if row["band"] == ON_SITE else f"{row['distance_m']:.0f} m",
            f"{row['evidence']}, {_season(row['season'])}",
            _last(row["last"], at=at),
        )
        for number, row in enumerate(near.to_dict("records"), start=1)
    ]
    header = ("No.", "What", "Name", "Easting, northing", "Distance", "Newest evidence")
    return [
        table(
            "Each nest site and box, nearest first; a site's newest season",
            (*header, "Last record, age"),
            rows,
        )
    ]


def _season(season: int) -> str:
    return str(season) if season else "year not known"


def _last(last: pd.Timestamp, *, at: dt.date) -> str:
    if pd.isna(last):
        return "not known"
    return f"{date(last.date())}; {age_class(last.date(), at=at)}"


def _bands(hits: pd.DataFrame, *, at: dt.date) -> list[Block]:
    if hits.empty:
        return [paragraph("No record is held within 1 km. No inference of absence can be drawn.")]
    ordered = hits.sort_values(
        ["band", "kind", "species", "season", "evidence"],
        ascending=[True, True, True, False, True],
    )
    rows: list[Sequence[str]] = [
        (
            BAND_WORDS[row["band"]],
            f"{row['species']}, {row['kind']}",
            _season(row["season"]),
            str(row["evidence"]),
            str(row["records"]),
            _last(row["last"], at=at),
        )
        for row in ordered.to_dict("records")
    ]
    return [
        table(
            "Records by distance, evidence and season; a nest site counts once a season",
            ("Distance", "What", "Season", "Evidence", "Number", "Last record, age"),
            rows,
        )
    ]


def _age_note(application: Application) -> Block:
    line = standards().age_of_records
    counted = "the date of receipt" if application.received else "the newest record's date"
    return facts(
        [
            ("Age", f"Counted at {counted}."),
            ("What age means", f"{line.text} ({line.source}; looked up {date(line.checked_on)})"),
        ]
    )


def _map(application: Application, near: pd.DataFrame, basemap: BaseMap) -> list[Block]:
    marks = [
        Mark(easting, northing, str(number))
        for number, (easting, northing) in enumerate(
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
    caption = (
        f"The site (thick line), lines at 25 m and 100 m from it, and the places of the table by "
        f"their numbers. 1:{scale:,} when printed on A4, north up."
    )
    alt = (
        f"Map of the site of application {application.reference} with {len(marks)} numbered places "
        "within 100 m. The table above gives their eastings and northings."
    )
    return [figure(caption, svg, alt)]
