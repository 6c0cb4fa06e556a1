"""A small invented town for the public side: eight regions, seven streets, three seasons.

It lies on the open sea. Its figures are written here by hand, so a test can state what a page
has to say without asking the code under test.
"""

from __future__ import annotations

import datetime as dt
import json
from typing import TYPE_CHECKING

import pytest

from eaveline.public.records import (
    BandedCount,
    BoxUse,
    Cell,
    EvidenceClass,
    Finding,
    Layers,
    Nation,
    OpenSite,
    PublicRelease,
    Region,
    Rule,
    Species,
    State,
    TownFigures,
    TownSeason,
    release_to_json,
)
from eaveline.public.town import PublicTown

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

NASTY_NAME = "<b>O'Neill & Söhne</b>"
NASTY_SLUG = "b-oneill-sohne-b"
SEASONS = ("2024", "2025", "2026")

STREET_LINES = {
    "Albert Road": [[[650010, 330050], [650290, 330050]]],
    "Market Place": [[[650310, 330060], [650390, 330090]]],
    NASTY_NAME: [[[650050, 330010], [650050, 330190]]],
    "Mill Lane": [[[650110, 330150], [650390, 330150]]],
    "Swan Street": [[[650350, 330095], [650350, 330190]]],
    "Far Common Lane": [[[650410, 330350], [650690, 330350]]],
    "Sea Bank": [[[651410, 330350], [651690, 330350]]],
}
"""Sea Bank lies beyond every region."""

REGIONS = (
    Region(id="R001", cells=(Cell(6500, 3300),), premises=14, streets=("albert-road", NASTY_SLUG)),
    Region(id="R002", cells=(Cell(6501, 3300),), premises=22, streets=("albert-road",)),
    Region(id="R003", cells=(Cell(6502, 3300),), premises=18, streets=("albert-road",)),
    Region(
        id="R004", cells=(Cell(6503, 3300),), premises=31, streets=("market-place", "swan-street")
    ),
    Region(id="R005", cells=(Cell(6500, 3301),), premises=12, streets=(NASTY_SLUG,)),
    Region(
        id="R006", cells=(Cell(6501, 3301), Cell(6502, 3301)), premises=11, streets=("mill-lane",)
    ),
    Region(id="R007", cells=(Cell(6503, 3301),), premises=16, streets=("mill-lane", "swan-street")),
    Region(
        id="R008",
        cells=(Cell(6504, 3303), Cell(6505, 3303), Cell(6506, 3303)),
        premises=10,
        streets=("far-common-lane",),
    ),
)


def _findings(given: Mapping[str, Finding]) -> dict[str, Finding]:
    """Every region: as given, else not looked."""
    return {region.id: given.get(region.id, Finding(state=State.NOT_LOOKED)) for region in REGIONS}


def _counts(given: Mapping[str, tuple[int, int | None]]) -> dict[str, BandedCount]:
    return {
        region.id: BandedCount(low=given[region.id][0], high=given[region.id][1])
        if region.id in given
        else BandedCount()
        for region in REGIONS
    }


def _some(low: int, high: int | None, surest: EvidenceClass | None = None) -> Finding:
    return Finding(state=State.SOME, low=low, high=high, surest=surest)


LOOKED = Finding(state=State.LOOKED)
SWIFTS_2026 = {
    "R001": _some(3, 5, EvidenceClass.CONFIRMED),
    "R002": _some(1, 2, EvidenceClass.PROBABLE),
    "R003": LOOKED,
    "R006": _some(1, 2, EvidenceClass.POSSIBLE),
}
MARTINS_2026 = {"R004": _some(6, 10, EvidenceClass.CONFIRMED), "R003": LOOKED}
PARTIES_2026 = {"R001": _some(6, 10), "R002": _some(3, 5), "R003": LOOKED}


@pytest.fixture(scope="session")
def public_town() -> PublicTown:
    """Return the town's public face."""
    return PublicTown(
        name="Littlemarsh",
        nation=Nation.ENGLAND,
        centre="TG 50 30",
        group="Littlemarsh Swift Group",
        email="birds@littlemarsh.example",
        invented=True,
    )


@pytest.fixture(scope="session")
def release() -> PublicRelease:
    """Return the release of the small town."""
    return PublicRelease(
        town="Littlemarsh",
        made_on=dt.date(2026, 8, 14),
        crs="EPSG:27700",
        has_map=True,
        rule=Rule(
            minimum_premises=10,
            cell_size_m=100,
            bands=((1, 2), (3, 5), (6, 10), (11, None)),
            hour_bands=((1, 1), (2, 5), (6, 15), (16, None)),
            looked_hours=2,
        ),
        regions=REGIONS,
        seasons=SEASONS,
        layers=Layers(
            nest_sites={
                Species.SWIFT: {
                    "2024": _findings({"R001": _some(1, 2, EvidenceClass.PROBABLE)}),
                    "2025": _findings(
                        {"R001": _some(1, 2, EvidenceClass.CONFIRMED), "R002": LOOKED}
                    ),
                    "2026": _findings(SWIFTS_2026),
                    "all": _findings(SWIFTS_2026),
                },
                Species.HOUSE_MARTIN: {
                    "2024": _findings({}),
                    "2025": _findings({"R004": _some(3, 5, EvidenceClass.CONFIRMED)}),
                    "2026": _findings(MARTINS_2026),
                    "all": _findings(MARTINS_2026),
                },
            },
            screaming_parties={
                "2024": _findings({"R001": _some(1, 2)}),
                "2025": _findings({"R001": _some(3, 5), "R002": LOOKED}),
                "2026": _findings(PARTIES_2026),
                "all": _findings(PARTIES_2026),
            },
            boxes={
                "2024": _counts({"R002": (1, 2)}),
                "2025": _counts({"R002": (3, 5)}),
                "2026": _counts({"R002": (3, 5), "R005": (1, 2)}),
                "all": _counts({"R002": (3, 5), "R005": (1, 2)}),
            },
            watching={
                "2024": _counts({"R001": (1, 1)}),
                "2025": _counts({"R001": (2, 5), "R002": (2, 5)}),
                "2026": _counts({"R001": (6, 15), "R002": (2, 5), "R003": (2, 5)}),
                "all": _counts({"R001": (6, 15), "R002": (6, 15), "R003": (2, 5)}),
            },
        ),
        town_figures=TownFigures(
            records=412,
            premises=134,
            nest_sites_at_least={Species.SWIFT: 5, Species.HOUSE_MARTIN: 6},
            boxes_standing=7,
            hours_watched=31,
            screaming_parties=24,
        ),
        town_seasons=(
            _season("2024", records=61, swift=1, martin=0, boxes=2, hours=1, parties=2, use=None),
            _season("2025", records=120, swift=1, martin=3, boxes=4, hours=8, parties=6, use=None),
            _season(
                "2026",
                records=231,
                swift=5,
                martin=6,
                boxes=7,
                hours=22,
                parties=16,
                use=BoxUse(buildings_checked=12, used_at_least=4),
                lost=2,
            ),
        ),
        open_sites=(
            OpenSite(
                name="Littlemarsh Library", what="swift box", cell=Cell(6503, 3300), since="2025"
            ),
            OpenSite(what="swift nest", cell=Cell(6500, 3301), since="2026"),
        ),
    )


def _season(
    season: str,
    *,
    records: int,
    swift: int,
    martin: int,
    boxes: int,
    hours: int,
    parties: int,
    use: BoxUse | None,
    lost: int = 0,
) -> TownSeason:
    year = int(season)
    martins = {Species.HOUSE_MARTIN: dt.date(year, 4, 19)} if martin else {}
    return TownSeason(
        season=season,
        records=records,
        first_seen={Species.SWIFT: dt.date(year, 5, 3)} | martins,
        last_seen={Species.SWIFT: dt.date(year, 8, 14)} | martins,
        nest_sites_at_least={Species.SWIFT: swift, Species.HOUSE_MARTIN: martin},
        lost_at_least=lost,
        screaming_parties=parties,
        largest_party=17 if parties > 10 else None,
        boxes_standing=boxes,
        box_use=use,
        hours_watched=hours,
    )


@pytest.fixture(scope="session")
def map_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a map folder with the town's public layers."""
    folder = tmp_path_factory.mktemp("small-town") / "map"
    folder.mkdir()
    edge = [
        [649950, 329950],
        [650750, 329950],
        [650750, 330450],
        [649950, 330450],
        [649950, 329950],
    ]
    river = [[649900, 330230], [650300, 330215], [650500, 330260], [650800, 330250]]
    green = [
        [650420, 330010],
        [650480, 330010],
        [650480, 330080],
        [650420, 330080],
        [650420, 330010],
    ]
    house = [
        [650020, 330060],
        [650028, 330060],
        [650028, 330070],
        [650020, 330070],
        [650020, 330060],
    ]
    _write_layer(
        folder / "streets.geojson",
        [
            ({"name": name}, {"type": "MultiLineString", "coordinates": lines})
            for name, lines in STREET_LINES.items()
        ],
    )
    _write_layer(folder / "boundary.geojson", [({}, {"type": "Polygon", "coordinates": [edge]})])
    _write_layer(folder / "water.geojson", [({}, {"type": "LineString", "coordinates": river})])
    _write_layer(folder / "greens.geojson", [({}, {"type": "Polygon", "coordinates": [green]})])
    _write_layer(folder / "buildings.geojson", [({}, {"type": "Polygon", "coordinates": [house]})])
    return folder


def _write_layer(path: Path, features: list[tuple[dict[str, str], dict[str, object]]]) -> None:
    """Write features in the national grid."""
    data = {
        "type": "FeatureCollection",
        "crs": {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::27700"}},
        "features": [
            {"type": "Feature", "properties": properties, "geometry": geometry}
            for properties, geometry in features
        ],
    }
    path.write_text(json.dumps(data), encoding="utf-8")


@pytest.fixture(scope="session")
def release_file(release: PublicRelease, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the release written to a file."""
    path = tmp_path_factory.mktemp("release") / "release.json"
    path.write_text(release_to_json(release), encoding="utf-8")
    return path
