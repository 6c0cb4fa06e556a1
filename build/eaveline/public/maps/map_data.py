"""The figures of the moving map, packed for its script.

One polygon is drawn for each region, and the script colours it for the layer and season
chosen. So that 400 regions in five layers and nine seasons stay small, a layer and season is
one string with a character for each region: ``-`` not looked, ``0`` none, ``1`` the lowest
band, and so on.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import numpy as np

from eaveline.geodesy import to_wgs84
from eaveline.messages import language
from eaveline.public.maps import palette
from eaveline.public.maps.layers import (
    NONE,
    NOT_LOOKED,
    MapLayer,
    evidence_words,
    layer_bands,
    layer_figures,
    layer_title,
    region_name,
    season_words,
    seasons_shown,
    step_cell,
    step_label,
    step_of,
    step_words,
)
from eaveline.public.maps.legends import MARK_PATH
from eaveline.public.maps.squares import centre
from eaveline.public.records import EvidenceClass, Finding
from eaveline.public.words.listed_words import listed_place
from eaveline.public.words.script_words import map_words

if TYPE_CHECKING:
    from collections.abc import Iterable

    from eaveline.public.maps.basemap import BaseMap
    from eaveline.public.records import Cell, PublicRelease, Region

_EVIDENCE = {
    EvidenceClass.POSSIBLE: "b",
    EvidenceClass.PROBABLE: "c",
    EvidenceClass.CONFIRMED: "d",
    None: "a",
}


def map_data_script(release: PublicRelease, basemap: BaseMap) -> str:
    """Return the script that hands the data over.

    It is a script and not JSON because a page opened from a folder (``file://``) may load the one
    and not the other.

    Returns
    -------
    str
        JavaScript: one assignment to ``window.eavelineTownMap``.
    """
    text = json.dumps(_data(release, basemap), ensure_ascii=False, separators=(",", ":"))
    # JSON is JavaScript, but for these two line ends in old engines.
    text = text.replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")
    return f"window.eavelineTownMap = {text};\n"


def _data(release: PublicRelease, basemap: BaseMap) -> dict[str, Any]:
    slugs = sorted({slug for region in release.regions for slug in region.streets})
    names = {street.slug: street.name for street in basemap.streets}
    number = {slug: index for index, slug in enumerate(slugs)}
    size_m = release.rule.cell_size_m
    spots = _degrees(release, [_label_cell(region) for region in release.regions])
    return {
        "root": "../",
        "paper": palette.GROUND,
        "ink": palette.INK,
        "hatch": palette.HATCH,
        "mark": MARK_PATH,
        "squareSize": size_m,
        "seasons": [[season, season_words(season)] for season in seasons_shown(release)],
        "layers": [_layer(release, layer) for layer in MapLayer],
        "evidence": ["", *(evidence_words(kind) for kind in EvidenceClass)],
        "language": language().html,
        "words": map_words(),
        "streets": [[slug, names.get(slug, slug)] for slug in slugs],
        "regions": [
            [
                region.id,
                region_name(region.id, cells=len(region.cells)),
                region.premises,
                [number[slug] for slug in region.streets],
                spot,
            ]
            for region, spot in zip(release.regions, spots, strict=True)
        ],
        "sites": _sites(release),
    }


def _layer(release: PublicRelease, layer: MapLayer) -> dict[str, Any]:
    bands = layer_bands(release, layer)
    numbers = range(NOT_LOOKED, len(bands) + 1)
    fills = [palette.GROUND, palette.LOOKED, *palette.ramp(layer, len(bands))]
    figures = layer_figures(release, layer)
    packed: dict[str, str] = {}
    surest: dict[str, str] = {}
    for season in seasons_shown(release):
        found = [figures[season][region.id] for region in release.regions]
        packed[season] = "".join(_letter(step_of(figure, bands)) for figure in found)
        surest[season] = "".join(
            _EVIDENCE[figure.surest if isinstance(figure, Finding) else None] for figure in found
        )
    return {
        "key": layer.value,
        "title": layer_title(layer),
        "edge": palette.outline(layer),
        "threeAnswers": layer not in {MapLayer.BOXES, MapLayer.WATCHING},
        "fills": fills,
        "letters": [palette.text_on(fill) for fill in fills],
        "words": [step_words(release, layer, step) for step in numbers],
        "cells": [step_cell(release, layer, step) for step in numbers],
        "labels": [step_label(release, layer, step) for step in numbers],
        "figures": packed,
        "surest": surest if any(text.strip("a") for text in surest.values()) else {},
    }


def _letter(step: int) -> str:
    """Return a step as one letter: a row of digits could look like a telephone number."""
    return "-" if step == NOT_LOOKED else chr(ord("a") + max(step, NONE))


def _label_cell(region: Region) -> Cell:
    """Return the cell nearest the middle of a region, where its label stands."""
    cells = np.array(region.cells)
    away = np.abs(cells - cells.mean(axis=0)).sum(axis=1)
    return region.cells[int(away.argmin())]


def _degrees(release: PublicRelease, cells: Iterable[Cell]) -> list[list[float]]:
    """Return cells' centres as latitude and longitude, which is Leaflet's order."""
    spots = [centre([cell], cell_size_m=release.rule.cell_size_m) for cell in cells]
    points = np.array([[spot.x, spot.y] for spot in spots]).reshape(-1, 2)
    degrees: list[list[float]] = to_wgs84(points, crs=release.crs)[:, ::-1].round(6).tolist()
    return degrees


def _sites(release: PublicRelease) -> list[list[Any]]:
    """Return the listed places by cell: position, the words of each, the region's number or -1."""
    cells = sorted({site.cell for site in release.open_sites})
    region_of = {cell: n for n, region in enumerate(release.regions) for cell in region.cells}
    return [
        [
            spot,
            sorted(listed_place(site) for site in release.open_sites if site.cell == cell),
            region_of.get(cell, -1),
        ]
        for cell, spot in zip(cells, _degrees(release, cells), strict=True)
    ]
