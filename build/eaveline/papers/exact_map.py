"""The register as a GeoPackage of exact places, for the group's own GIS."""

from __future__ import annotations

import datetime as dt
import tempfile
from pathlib import Path

import geopandas as gpd
import pandas as pd

from eaveline.map_files import pinned_date
from eaveline.private.register import Register


def exact_map(register: Register, *, crs: str, made_on: dt.date) -> bytes:
    """Return register.gpkg: layers nest_sites, boxes and sightings with their exact places.

    Parameters
    ----------
    register
        Everything merged.
    crs
        The town's projected system.
    made_on
        The day it says it was changed: that of the newest record, so that the same records give
        the same bytes.
    """
    best = (
        register.evidence.sort_values(["site", "season"])
        .drop_duplicates("site", keep="last")
        .set_index("site")
    )
    sites = register.sites.join(best[["season", "atlas_code", "status", "nests"]], how="left")
    layers = {
        "nest_sites": sites.drop(columns=["key", "share_since"]),
        "boxes": register.boxes,
        "sightings": register.sightings.drop(columns=["key"]),
    }
    with tempfile.TemporaryDirectory(prefix="eaveline-") as folder:
        path = Path(folder) / "register.gpkg"
        with pinned_date(f"{made_on.isoformat()}T00:00:00Z"):
            for name, table in layers.items():
                _layer(table, crs).to_file(path, layer=name, driver="GPKG", engine="pyogrio")
        return path.read_bytes()


def _layer(table: pd.DataFrame, crs: str) -> gpd.GeoDataFrame:
    plain = table.reset_index(drop=True)
    for name in plain.columns:
        if isinstance(plain[name].dtype, pd.CategoricalDtype):
            plain[name] = plain[name].astype(object)
    points = gpd.points_from_xy(plain["easting"], plain["northing"])
    return gpd.GeoDataFrame(plain, geometry=points, crs=crs)
