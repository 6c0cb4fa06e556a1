"""The release as a GeoPackage for a council's own map program.

Two layers, both drawn from the release alone: ``squares`` with every region's figures, and
``consult_us``, which says of each region whether works there should be asked about. The second
is only the first in one word. Styles lie in ``layer_styles`` (as QML and as OGC SLD 1.0), and what
was generalised is stated on every feature.
"""

from __future__ import annotations

import sqlite3
import tempfile
from collections.abc import Mapping, Sequence
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING
from xml.sax.saxutils import quoteattr

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio

from eaveline.map_files import pinned_date
from eaveline.public.downloads.tables import LAYER_COLUMN
from eaveline.public.maps.layers import (
    ALL_SEASONS,
    NONE,
    NOT_LOOKED,
    MapLayer,
    layer_bands,
    layer_figures,
    region_name,
    step_of,
    step_words,
    steps,
)
from eaveline.public.maps.palette import HATCH, INK, LOOKED, ramp
from eaveline.public.maps.squares import region_polygon
from eaveline.public.records import PublicRelease, Region, State

if TYPE_CHECKING:
    from eaveline.public.town import PublicTown

SQUARES = "squares"
CONSULT = "consult_us"
ASK_FOUND = "ask: nest sites or boxes known"
ASK_UNKNOWN = "ask: not watched enough"
ASK_LOOKED = "no need known: watched, none found"
_ANSWERS = (ASK_FOUND, ASK_UNKNOWN, ASK_LOOKED)

_SQLITE_COUNTER = slice(24, 28)
_SQLITE_VALID_FOR = slice(92, 100)
"""Header fields that count writes and name the SQLite library's version (sqlite.org/fileformat)."""


def colony_geopackage(release: PublicRelease, town: PublicTown) -> bytes:
    """Return colony.gpkg; the same release gives the same bytes.

    Parameters
    ----------
    release
        The public release, with at least one region.
    town
        Named in the layers' descriptions.

    Raises
    ------
    ValueError
        If the release has no region.
    """
    if not release.regions:
        msg = "a map needs at least one region"
        raise ValueError(msg)
    layers = {SQUARES: _squares(release), CONSULT: _consult(release)}
    about = {
        SQUARES: f"Figures of {town.name} by region. {generalisation(release)}",
        CONSULT: f"Where {town.group} should be asked about works. {generalisation(release)}",
    }
    with tempfile.TemporaryDirectory(prefix="eaveline-") as folder:
        path = Path(folder) / "colony.gpkg"
        with pinned_date(f"{release.made_on.isoformat()}T00:00:00Z"):
            for name, table in layers.items():
                pyogrio.write_dataframe(
                    table,
                    path,
                    layer=name,
                    driver="GPKG",
                    layer_options={"DESCRIPTION": about[name], "SPATIAL_INDEX": "YES"},
                )
            pyogrio.write_dataframe(
                _styles(release), path, layer="layer_styles", driver="GPKG", append=False
            )
        _tidy(path, release)
        return _pinned_header(path.read_bytes())


def generalisation(release: PublicRelease) -> str:
    """Return what was done to the records, for ``dataGeneralizations``."""
    rule = release.rule
    return (
        f"Records are counted in whole {rule.cell_size_m} m squares of {release.crs}, joined to "
        f"hold at least {rule.minimum_premises} premises; counts are capped and put into bands."
    )


def consult_answer(release: PublicRelease, region: Region) -> str:
    """Return whether works in a region should be asked about, from its public figures alone."""
    layers = release.layers
    findings = [layer[ALL_SEASONS][region.id] for layer in layers.nest_sites.values()]
    boxes = layers.boxes[ALL_SEASONS][region.id].low is not None
    if boxes or any(finding.state is State.SOME for finding in findings):
        return ASK_FOUND
    # Watching in an earlier year says nothing of this one, so only the last season clears.
    last = release.seasons[-1] if release.seasons else ALL_SEASONS
    latest = [layer[last][region.id].state for layer in layers.nest_sites.values()]
    return ASK_LOOKED if all(state is State.LOOKED for state in latest) else ASK_UNKNOWN


def _squares(release: PublicRelease) -> gpd.GeoDataFrame:
    latest = release.seasons[-1:] if release.seasons else ()
    columns: dict[str, list[int | None] | list[str]] = {}
    for layer in MapLayer:
        bands = layer_bands(release, layer)
        for season in (ALL_SEASONS, *latest):
            figures = layer_figures(release, layer)[season]
            found = [step_of(figures[region.id], bands) for region in release.regions]
            name = f"{LAYER_COLUMN[layer]}_{season}"
            columns[name] = [
                None if step == NOT_LOOKED else 0 if step == NONE else bands[step - 1][0]
                for step in found
            ]
            columns[f"{name}_words"] = [step_words(release, layer, step) for step in found]
    # Columns of whole numbers with gaps: a nest not looked for is no zero.
    whole = {
        name: values if name.endswith("_words") else pd.Series(values, dtype="Int64").array
        for name, values in columns.items()
    }
    return _table(release, whole)


def _consult(release: PublicRelease) -> gpd.GeoDataFrame:
    return _table(
        release, {"consult": [consult_answer(release, region) for region in release.regions]}
    )


def _table(release: PublicRelease, columns: Mapping[str, object]) -> gpd.GeoDataFrame:
    size_m = release.rule.cell_size_m
    shapes = [region_polygon(region.cells, cell_size_m=size_m) for region in release.regions]
    count = len(shapes)
    return gpd.GeoDataFrame(
        {
            "region": [region.id for region in release.regions],
            "name": [region_name(region.id, cells=len(region.cells)) for region in release.regions],
            "premises": np.array([region.premises for region in release.regions], dtype=np.int64),
            **columns,
            "as_of": [release.made_on.isoformat()] * count,
            "dataGeneralizations": [generalisation(release)] * count,
        },
        geometry=shapes,
        crs=release.crs,
    )


def _styles(release: PublicRelease) -> pd.DataFrame:
    """Return the table of styles in which map programs look for a layer's look."""
    step_numbers = sorted(set(steps(release, MapLayer.SWIFT_NESTS).values()) - {NONE, NOT_LOOKED})
    bands = layer_bands(release, MapLayer.SWIFT_NESTS)
    colours = ramp(MapLayer.SWIFT_NESTS, len(bands))
    column = f"{LAYER_COLUMN[MapLayer.SWIFT_NESTS]}_{ALL_SEASONS}_words"
    squares = [
        (step_words(release, MapLayer.SWIFT_NESTS, NOT_LOOKED), HATCH),
        (step_words(release, MapLayer.SWIFT_NESTS, NONE), LOOKED),
        *(
            (step_words(release, MapLayer.SWIFT_NESTS, step), colours[step - 1])
            for step in step_numbers
        ),
    ]
    consult = list(zip(_ANSWERS, (colours[-1], HATCH, LOOKED), strict=True))
    looks = {SQUARES: (column, squares), CONSULT: ("consult", consult)}
    return pd.DataFrame(
        [
            {
                "f_table_catalog": "",
                "f_table_schema": "",
                "f_table_name": name,
                "f_geometry_column": "geom",
                "styleName": name,
                "styleQML": _qml(column, classes),
                "styleSLD": _sld(name, column, classes),
                "useAsDefault": True,
                "description": "",
                "owner": "",
                "ui": "",
                "update_time": f"{release.made_on.isoformat()}T00:00:00.000Z",
            }
            for name, (column, classes) in looks.items()
        ]
    )


def _qml(column: str, classes: Sequence[tuple[str, str]]) -> str:
    categories = "".join(
        f'<category value={quoteattr(value)} label={quoteattr(value)} symbol="{number}" '
        'render="true"/>'
        for number, (value, _) in enumerate(classes)
    )
    symbols = "".join(
        f'<symbol type="fill" name="{number}" alpha="0.7"><layer class="SimpleFill">'
        f'<Option type="Map"><Option name="color" type="QString" value="{_rgb(colour)}"/>'
        f'<Option name="outline_color" type="QString" value="{_rgb(INK)}"/>'
        '<Option name="outline_width" type="QString" value="0.2"/></Option></layer></symbol>'
        for number, (_, colour) in enumerate(classes)
    )
    return (
        '<qgis version="3.28"><renderer-v2 type="categorizedSymbol" '
        f"attr={quoteattr(column)}><categories>{categories}</categories>"
        f"<symbols>{symbols}</symbols></renderer-v2></qgis>"
    )


def _sld(name: str, column: str, classes: Sequence[tuple[str, str]]) -> str:
    rules = "".join(
        f"<Rule><Name>{value}</Name><ogc:Filter><ogc:PropertyIsEqualTo>"
        f"<ogc:PropertyName>{column}</ogc:PropertyName><ogc:Literal>{value}</ogc:Literal>"
        "</ogc:PropertyIsEqualTo></ogc:Filter><PolygonSymbolizer><Fill>"
        f'<CssParameter name="fill">{colour}</CssParameter>'
        '<CssParameter name="fill-opacity">0.7</CssParameter></Fill><Stroke>'
        f'<CssParameter name="stroke">{INK}</CssParameter></Stroke></PolygonSymbolizer></Rule>'
        for value, colour in classes
    )
    return (
        '<StyledLayerDescriptor version="1.0.0" xmlns="http://www.opengis.net/sld" '
        'xmlns:ogc="http://www.opengis.net/ogc">'
        f"<NamedLayer><Name>{name}</Name><UserStyle><FeatureTypeStyle>{rules}"
        "</FeatureTypeStyle></UserStyle></NamedLayer></StyledLayerDescriptor>"
    )


def _rgb(colour: str) -> str:
    """Return ``#rrggbb`` as the four numbers QML has."""
    return ",".join(str(int(colour[start : start + 2], 16)) for start in (1, 3, 5)) + ",255"


def _tidy(path: Path, release: PublicRelease) -> None:
    """Pin every time in the contents table and rewrite the file without free pages."""
    moment = f"{release.made_on.isoformat()}T00:00:00.000Z"
    with closing(sqlite3.connect(path)) as connection:
        with connection:
            connection.execute("UPDATE gpkg_contents SET last_change = ?", (moment,))
        connection.execute("VACUUM")


def _pinned_header(data: bytes) -> bytes:
    """Return the database with its write counter at one, as a version 3.0.0 file.

    Readers look at neither; both would differ between machines.
    """
    pinned = bytearray(data)
    pinned[_SQLITE_COUNTER] = (1).to_bytes(4, "big")
    pinned[_SQLITE_VALID_FOR] = (1).to_bytes(4, "big") + (3_000_000).to_bytes(4, "big")
    return bytes(pinned)
