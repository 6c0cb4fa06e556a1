"""Files for other programs, written to the site's data folder.

========================  ==================================================================
``release.json``          the release itself, from which the whole site can be built again
``release.schema.json``   its JSON Schema (draft 2020-12)
``squares.geojson``       the regions as polygons with their figures (RFC 7946)
``*.csv``                 tables, see `eaveline.public.downloads.tables`
``colony.gpkg``           the regions for a map program, see `eaveline.public.downloads.colony_gpkg`
``darwin-core.zip``       a Darwin Core Archive, see `eaveline.public.downloads.darwin_core`
``datapackage.json``      a Data Package (version 2) that describes the data
========================  ==================================================================

The same release gives the same bytes on any machine and day.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from slugify import slugify

from eaveline.public.downloads.colony_gpkg import colony_geopackage
from eaveline.public.downloads.darwin_core import darwin_core_archive
from eaveline.public.downloads.tables import LAYER_COLUMN, Table, tables
from eaveline.public.maps.layers import (
    NONE,
    NOT_LOOKED,
    MapLayer,
    layer_bands,
    layer_figures,
    region_name,
    seasons_shown,
    step_of,
)
from eaveline.public.maps.squares import centre, geojson_geometries, region_polygon, uncertainty_m
from eaveline.public.records import PublicRelease, Region, release_to_json

if TYPE_CHECKING:
    from eaveline.public.maps.basemap import BaseMap
    from eaveline.public.town import PublicTown

_LICENCES = {
    "CC BY 4.0": ("CC-BY-4.0", "https://creativecommons.org/licenses/by/4.0/"),
    "CC BY-SA 4.0": ("CC-BY-SA-4.0", "https://creativecommons.org/licenses/by-sa/4.0/"),
    "CC BY-NC 4.0": ("CC-BY-NC-4.0", "https://creativecommons.org/licenses/by-nc/4.0/"),
    "CC0 1.0": ("CC0-1.0", "https://creativecommons.org/publicdomain/zero/1.0/"),
    "ODbL 1.0": ("ODbL-1.0", "https://opendatacommons.org/licenses/odbl/1-0/"),
}


class _Download(NamedTuple):
    """One file of the data folder, with what the descriptor says of it."""

    path: str
    data: bytes
    about: dict[str, Any]


def write_downloads(
    release: PublicRelease, basemap: BaseMap | None, town: PublicTown, folder: Path
) -> None:
    """Write every download.

    Parameters
    ----------
    release
        The public release.
    basemap
        The town's base map, which gives the streets' names; None where there is no map.
    town
        The town's public face: its group, licence and address.
    folder
        The site's data folder; made if it is missing.
    """
    folder.mkdir(parents=True, exist_ok=True)
    data = [
        _release(release),
        _squares(release),
        *(_table(table) for table in tables(release, basemap)),
        *_for_other_programs(release, town),
    ]
    # The last two describe the others, so the descriptor does not list them as data.
    about = {
        "release.schema.json": _json(release_schema(town)),
        "datapackage.json": _json(_descriptor(release, town, data)),
    }
    for name, text in about.items():
        (folder / name).write_bytes(text.encode("utf-8"))
    for download in data:
        (folder / download.path).write_bytes(download.data)


def release_schema(town: PublicTown) -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) that every ``release.json`` follows."""
    name = "release.schema.json"
    head = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"{town.site_url}/data/{name}" if town.site_url else name,
    }
    return head | PublicRelease.model_json_schema(mode="serialization")


def squares_geojson(release: PublicRelease) -> dict[str, Any]:
    """Return the regions as an RFC 7946 feature collection.

    A feature's figure for a layer and season is the lower end of its band, so it reads 'at
    least'; 0 where somebody looked and found none (or no box is known, or nobody watched);
    null where nobody has looked enough to say. Positions follow Darwin Core: the centre, with a
    ``coordinateUncertaintyInMeters`` that holds the whole region.
    """
    size_m = release.rule.cell_size_m
    polygons = [region_polygon(region.cells, cell_size_m=size_m) for region in release.regions]
    middles = [centre(region.cells, cell_size_m=size_m) for region in release.regions]
    features = [
        _feature(region, release, outline=outline, middle=middle)
        for region, outline, middle in zip(
            release.regions,
            geojson_geometries(polygons, crs=release.crs),
            geojson_geometries(middles, crs=release.crs),
            strict=True,
        )
    ]
    return {"type": "FeatureCollection", "features": features}


def _release(release: PublicRelease) -> _Download:
    about = {
        "name": "release",
        "title": "The whole release",
        "description": "Every public figure in one file; release.schema.json is its schema.",
        "format": "json",
        "encoding": "utf-8",
        "mediatype": "application/json",
    }
    return _Download("release.json", release_to_json(release).encode(), about)


def _squares(release: PublicRelease) -> _Download:
    # A feature on each line, so that two releases can be compared line by line.
    features = squares_geojson(release)["features"]
    lines = ",\n".join(
        json.dumps(feature, ensure_ascii=False, separators=(",", ":")) for feature in features
    )
    text = f'{{"type":"FeatureCollection","features":[\n{lines}\n]}}\n'
    about = {
        "name": "squares",
        "title": "Squares and groups of squares as polygons",
        "description": "Figures are the lower ends of bands: 0 means looked and none found (or no "
        "box known, or not watched), null means not looked enough to say.",
        "format": "geojson",
        "encoding": "utf-8",
        "mediatype": "application/geo+json",
    }
    return _Download("squares.geojson", text.encode(), about)


def _table(table: Table) -> _Download:
    about = {
        "name": table.name,
        "type": "table",
        "title": table.title,
        "description": table.description,
        "format": "csv",
        "encoding": "utf-8",
        "mediatype": "text/csv",
        "schema": table.schema,
    }
    return _Download(f"{table.name}.csv", table.to_csv().encode(), about)


def _for_other_programs(release: PublicRelease, town: PublicTown) -> Iterator[_Download]:
    """Yield what only a program can read; a town without a map has neither."""
    if not release.regions:
        return
    about = {
        "name": "colony",
        "title": "The map for a geographic information system",
        "description": "A GeoPackage of the regions with their figures, a layer that says where to "
        "consult the group, and styles for both.",
        "format": "gpkg",
        "mediatype": "application/geopackage+sqlite3",
    }
    yield _Download("colony.gpkg", colony_geopackage(release, town), about)
    about = {
        "name": "darwin-core",
        "title": "A Darwin Core Archive",
        "description": "Sampling events, one for each region and season, and what was found or "
        "looked for in vain, for biodiversity databases.",
        "format": "zip",
        "mediatype": "application/zip",
    }
    yield _Download("darwin-core.zip", darwin_core_archive(release, town), about)


def _descriptor(
    release: PublicRelease, town: PublicTown, downloads: Iterable[_Download]
) -> dict[str, Any]:
    """Return the Data Package descriptor of the other files."""
    data: dict[str, Any] = {
        "$schema": "https://datapackage.org/profiles/2.0/datapackage.json",
        "name": f"{slugify(town.name) or 'town'}-colony-map",
        "title": f"Swifts and house martins in {town.name}",
        "description": _description(release, town),
        "created": f"{release.made_on.isoformat()}T00:00:00Z",
        "version": release.made_on.isoformat(),
        "licenses": [_licence(town.licence)],
        "contributors": [{"title": town.group, "roles": ["publisher"], "email": town.email}],
        "keywords": ["swift", "house martin", "nest sites", "nest boxes", town.name],
        "resources": [_resource(download) for download in downloads],
    }
    if town.site_url:
        data["homepage"] = town.site_url
    return data


def _description(release: PublicRelease, town: PublicTown) -> str:
    rule = release.rule
    text = (
        f"Generalised figures for regions of at least {rule.minimum_premises} premises, made of "
        f"{rule.cell_size_m} m squares of {release.crs}. There are no places of nests and no "
        "figures for streets or buildings."
    )
    return f"{text} {town.name} is invented, and so are its figures." if town.invented else text


def _resource(download: _Download) -> dict[str, Any]:
    return download.about | {
        "path": download.path,
        "bytes": len(download.data),
        "hash": f"sha256:{hashlib.sha256(download.data).hexdigest()}",
    }


def _licence(licence: str) -> dict[str, str]:
    """Return a licence with its open-data id and address where we know them."""
    if licence in _LICENCES:
        name, path = _LICENCES[licence]
        return {"name": name, "path": path, "title": licence}
    return {"name": slugify(licence, lowercase=False) or "other", "title": licence}


def _feature(
    region: Region, release: PublicRelease, *, outline: dict[str, Any], middle: dict[str, Any]
) -> dict[str, Any]:
    longitude, latitude = middle["coordinates"]
    return {
        "type": "Feature",
        "id": region.id,
        "properties": {
            "region": region.id,
            "name": region_name(region.id, cells=len(region.cells)),
            "premises": region.premises,
            "streets": " ".join(region.streets),
            "decimalLatitude": latitude,
            "decimalLongitude": longitude,
            "coordinateUncertaintyInMeters": uncertainty_m(
                region.cells, cell_size_m=release.rule.cell_size_m
            ),
            "dataGeneralizations": _generalisation(release),
        }
        | _figures(region, release),
        "geometry": outline,
    }


def _generalisation(release: PublicRelease) -> str:
    rule = release.rule
    return (
        f"Records are counted in whole {rule.cell_size_m} m squares of {release.crs}, joined to "
        f"hold at least {rule.minimum_premises} premises; counts are capped and put into bands."
    )


def _figures(region: Region, release: PublicRelease) -> dict[str, int | None]:
    figures: dict[str, int | None] = {}
    for layer in MapLayer:
        bands = layer_bands(release, layer)
        for season in seasons_shown(release):
            step = step_of(layer_figures(release, layer)[season][region.id], bands)
            value = None if step == NOT_LOOKED else 0 if step == NONE else bands[step - 1][0]
            figures[f"{LAYER_COLUMN[layer]}_{season}"] = value
    return figures


def _json(data: dict[str, Any]) -> str:
    return json.dumps(data, indent=1, ensure_ascii=False) + "\n"
