"""Exact records in Darwin Core terms, for a local records centre that the group trusts."""

from __future__ import annotations

import pandas as pd

from eaveline.geodesy import to_degrees
from eaveline.private.intake.cells import key_texts
from eaveline.private.register import Register
from eaveline.public.downloads.darwin_core import STATUS_WORDS
from eaveline.public.downloads.taxa import TAXA
from eaveline.public.records import Species
from eaveline.public.town import PublicTown

_RIGHTS = (
    "Confidential, for {centre} alone. Exact places of nests on people's homes: not to be "
    "published, nor passed on, more finely than the generalised figures the group publishes itself."
)
_WITHHELD = "Names of observers and householders, and notes, are kept by the group."
_LICENCE = "None: for the use agreed between {centre} and {group}; not for publication"
_CODES_CONFIRMED, _CODES_PROBABLE = 10, 3


def records_centre_csv(register: Register, town: PublicTown, *, centre: str, crs: str) -> bytes:
    """Return occurrences with exact places as CSV in UTF-8.

    One row for each nest site and season, and one for each sighting that is no evidence of a
    nest site. Nobody is named; each row states its licence and sensitivity.

    Parameters
    ----------
    register
        The merged records.
    town
        Names the group.
    centre
        The name of the body the export is for; its rows say so.
    crs
        The town's grid, ``EPSG:27700`` or ``EPSG:29903``.
    """
    table = pd.concat([_nest_sites(register), _sightings(register)], ignore_index=True)
    longitude, latitude, _ = to_degrees(
        table["easting"].to_numpy(dtype="float64"),
        table["northing"].to_numpy(dtype="float64"),
        crs="EPSG:29903" if crs == "EPSG:29903" else "EPSG:27700",
    )
    species = table["species"].map(Species)
    found, missed = STATUS_WORDS[town.occurrence_status]
    rows = pd.DataFrame(
        {
            "occurrenceID": table["id"],
            "basisOfRecord": "HumanObservation",
            "scientificName": species.map(lambda one: TAXA[one].name),
            "vernacularName": species.map(lambda one: TAXA[one].common),
            "taxonRank": "species",
            "occurrenceStatus": table["detected"].map({True: found, False: missed}),
            "eventDate": table["date"],
            "individualCount": table["birds"],
            "organismQuantity": table["nests"],
            "organismQuantityType": table["nests"].map(lambda n: "nests" if n == n else ""),  # noqa: PLR0124 - NaN is not itself
            "reproductiveCondition": table["evidence"],
            "occurrenceRemarks": table["remarks"],
            "recordedBy": town.group,
            "identificationVerificationStatus": "not verified outside the group",
            "countryCode": "GB",
            "municipality": town.name,
            "decimalLatitude": latitude.round(6),
            "decimalLongitude": longitude.round(6),
            "geodeticDatum": "EPSG:4326",
            "coordinateUncertaintyInMeters": table["uncertainty_m"].clip(lower=1).round(),
            "verbatimCoordinates": [
                f"{east:.0f} {north:.0f}"
                for east, north in zip(table["easting"], table["northing"], strict=True)
            ],
            "verbatimSRS": crs,
            "license": _LICENCE.format(centre=centre, group=town.group),
            "accessRights": _RIGHTS.format(centre=centre),
            "dataGeneralizations": "none",
            "informationWithheld": _WITHHELD,
        }
    ).sort_values(["eventDate", "occurrenceID"])
    return rows.to_csv(index=False, lineterminator="\r\n").encode("utf-8-sig")


def _nest_sites(register: Register) -> pd.DataFrame:
    # A season in which nobody looked at a site is no occurrence of anything.
    said = register.evidence["status"].isin(["quiet this season", "lost", "blocked"])
    evidence = register.evidence[(register.evidence["atlas_code"] > 0) | said]
    sites = register.sites.loc[evidence["site"]]
    dated = evidence["last_date"].dt.strftime("%Y-%m-%d")
    season = evidence["season"].astype(str)
    keys = pd.Series(key_texts(sites["key"].to_numpy()), index=evidence.index)
    return pd.DataFrame(
        {
            "id": "site:" + keys + ":" + season,
            "species": sites["species"].astype(object).to_numpy(),
            "date": dated.where(dated.notna(), season),
            "birds": float("nan"),
            "nests": evidence["nests"],
            "detected": (evidence["atlas_code"] > 0).to_numpy(),
            "evidence": _evidence(evidence["atlas_code"]),
            "remarks": evidence["status"].astype(object).map(_status_words),
            "easting": sites["easting"].to_numpy(),
            "northing": sites["northing"].to_numpy(),
            "uncertainty_m": sites["uncertainty_m"].to_numpy(),
        }
    )


def _sightings(register: Register) -> pd.DataFrame:
    seen = register.sightings
    # Rows at a wall are the nest sites' evidence already.
    loose = seen[(seen["atlas_code"] < 6).to_numpy() & seen["easting"].notna().to_numpy()]  # noqa: PLR2004 - an atlas code
    return pd.DataFrame(
        {
            "id": [f"sighting:{text}" for text in key_texts(loose["key"].to_numpy())],
            "species": loose["species"].astype(object).to_numpy(),
            "date": loose["date"].dt.strftime("%Y-%m-%d").to_numpy(),
            "birds": loose["birds"].to_numpy(),
            "nests": float("nan"),
            "detected": True,
            "evidence": _evidence(loose["atlas_code"]).to_numpy(),
            "remarks": "",
            "easting": loose["easting"].to_numpy(),
            "northing": loose["northing"].to_numpy(),
            "uncertainty_m": loose["uncertainty_m"].to_numpy(),
        }
    )


def _evidence(codes: pd.Series) -> pd.Series:
    return codes.map(
        lambda code: (
            f"confirmed breeding (EBCC code {code})"
            if code >= _CODES_CONFIRMED
            else f"probable breeding (EBCC code {code})"
            if code >= _CODES_PROBABLE
            else f"possible breeding (EBCC code {code})"
            if code >= 1
            else ""
        )
    )


def _status_words(status: object) -> str:
    return f"state of the site that season: {status}" if isinstance(status, str) else ""
