"""What a town's map folder tells: its streets, buildings, regions, and how to find a place."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pandas as pd
import shapely

from eaveline.config import TOWN_FILE, Config
from eaveline.errors import InputError, Problem
from eaveline.geodesy import to_degrees
from eaveline.private.places.addresses import AddressBook, load_addresses
from eaveline.private.places.frame import TownFrame
from eaveline.private.places.gridref import GridSquare, parse_grid_ref
from eaveline.private.places.locate import locate
from eaveline.private.places.street_lines import StreetLines
from eaveline.private.places.streets import StreetMatcher
from eaveline.private.register import Register
from eaveline.protect.buildings.premises import Premises, assign_building
from eaveline.protect.buildings.premises_files import load_premises, looks_partial
from eaveline.protect.counts.box_lots import box_lots
from eaveline.protect.division.districts import Districts, districts_for_build
from eaveline.protect.division.frozen import read_release, regions_for_build
from eaveline.protect.division.partition import cells_within, count_premises
from eaveline.protect.division.regions import MapRule, Regions, no_regions
from eaveline.protect.remembered.joined_places import Joins, joined_before
from eaveline.protect.remembered.memories import (
    PUBLISHED_MARK,
    Memories,
    load_memories,
    lost_memories,
    save_memories,
)
from eaveline.protect.remembered.recorded import recorded_buildings, with_gone
from eaveline.public.maps.basemap import BaseMap, load_basemap
from eaveline.sun import sunrise_minutes, sunset_minutes

_NEAR_CENTRE_M = 2_000.0
_NO_BUILDINGS = pd.DataFrame({"easting": np.empty(0), "northing": np.empty(0)})

Integers = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, repr=False)
class Gazetteer:
    """A town's names and places.

    Attributes
    ----------
    basemap
        The public map layers.
    addresses
        Streets and houses, if the group has a list.
    premises
        Distinct buildings, or None where no list was given: then there is no map. Buildings
        of earlier records that have left the lists are among them.
    known_addresses
        The list, with the addresses of those.
    regions
        The frozen regions; none where there is no map.
    districts
        The frozen district of each region.
    frame
        Within which records must lie.
    centre
        Easting and northing of the town's centre.
    public_buildings
        Names of public buildings by building id.
    notices
        What a person should know about the map folder.
    memories
        What the last release left for this one.
    town_name
        What the town is called.
    """

    basemap: BaseMap
    addresses: AddressBook | None
    premises: Premises | None
    known_addresses: AddressBook | None
    regions: Regions
    districts: Districts
    frame: TownFrame
    centre: tuple[float, float]
    public_buildings: dict[int, str]
    notices: tuple[Problem, ...]
    memories: Memories
    town_name: str = ""

    def __repr__(self) -> str:
        """Show counts only."""
        return f"<Gazetteer: {len(self.basemap.streets)} streets, {len(self.regions.ids)} regions>"

    @cached_property
    def streets(self) -> StreetMatcher:
        """The matcher of the town's street names."""
        return StreetMatcher((each.name for each in self.basemap.streets), town=self.town_name)

    @property
    def buildings(self) -> pd.DataFrame | None:
        """Distinct buildings as a table, or None."""
        return None if self.premises is None else self.premises.buildings

    @property
    def present_premises(self) -> Integers:
        """Premises found today in each region."""
        count = len(self.regions.ids)
        if self.premises is None:
            return np.zeros(count, dtype=np.int64)
        places = self.premises.standing
        region = self.regions.region_of(places["easting"], places["northing"])
        return np.bincount(region[region >= 0], minlength=count).astype(np.int64)

    def locate(self, places: pd.DataFrame) -> pd.DataFrame:
        """Find the places of rows; see `private.places.locate`."""
        return locate(
            places,
            town=self.frame,
            streets=self.streets,
            addresses=self.known_addresses,
            lines=self._lines,
            slugs=self._slugs,
        )

    @cached_property
    def _lines(self) -> StreetLines:
        streets = self.basemap.streets
        return StreetLines([each.name for each in streets], [each.lines for each in streets])

    def assign_building(self, easting: Floats, northing: Floats, uncertainty_m: Floats) -> Integers:
        """Join places as they were before, else see `premises.assign_building`."""
        if self.premises is None:
            return np.full(len(easting), -1, dtype=np.int64)
        places = pd.DataFrame(
            {"easting": easting, "northing": northing, "uncertainty_m": uncertainty_m}
        )
        nearest = assign_building(easting, northing, uncertainty_m, self.premises)
        return joined_before(places, self.memories.joined, self.premises, otherwise=nearest)

    def partial_list(self, register: Register) -> tuple[Problem, ...]:
        """Say whether many nests and boxes lie far from any premises; see `looks_partial`."""
        if self.premises is None:
            return ()
        columns = ["easting", "northing", "uncertainty_m"]
        places = pd.concat([register.sites[columns], register.boxes[columns]])
        found = looks_partial(
            places["easting"], places["northing"], places["uncertainty_m"], self.premises
        )
        return (found,) if found is not None else ()

    def box_lots(self, register: Register) -> pd.DataFrame:
        """Return the buildings with boxes that count together; see `protect.counts.box_lots`."""
        return box_lots(
            register,
            regions=self.regions,
            districts=self.districts,
            before=self.memories.lots,
        )

    def remember(self, folder: Path, register: Register, joins: Joins) -> None:
        """Note which buildings have records, what was joined to them, and which count together.

        Then no record is lost with a line of a list, or to a new one, and no lot changes.
        """
        recorded = recorded_buildings(
            register,
            self.premises,
            self.known_addresses,
            assign_building=self.assign_building,
        )
        save_memories(folder, Memories(recorded, joins.all_places(), self.box_lots(register)))

    def find_street(self, text: str) -> str | None:
        """Return the slug of the street that a text names for certain, or None."""
        (reading,) = self.streets.read([text])
        return self._slugs.get(reading.street) if reading.street and not reading.problem else None

    @cached_property
    def _slugs(self) -> dict[str, str]:
        return {street.name: street.slug for street in self.basemap.streets}

    def sun_times(self, dates: pd.Series) -> tuple[Floats, Floats]:
        """Return sunrise and sunset at the town's centre on each date, in local minutes."""
        longitude, latitude, _ = to_degrees([self.centre[0]], [self.centre[1]], crs=self.frame.crs)
        where = {"latitude": float(latitude[0]), "longitude": float(longitude[0])}
        return sunrise_minutes(dates, **where), sunset_minutes(dates, **where)


def load_gazetteer(folder: Path, config: Config, *, accept_loss: bool = False) -> Gazetteer:
    """Read survey_data/map/.

    Parameters
    ----------
    folder
        The town's folder.
    config
        Its settings.
    accept_loss
        Join regions even where many premises are gone; see `protect.division.updating`.

    Raises
    ------
    InputError
        With what is wrong with the map files, the frozen regions or the town's centre.
    """
    survey_data = folder / "survey_data"
    map_folder = survey_data / "map"
    size = config.privacy.cell_size_m
    basemap = load_basemap(map_folder, crs=config.crs)
    addresses = load_addresses(survey_data)
    premises, notices = load_premises(map_folder, crs=config.crs, addresses=addresses)
    centre = town_centre(config)
    bounds = _bounds(basemap, premises, centre)
    rule = MapRule(config.privacy.minimum_premises, size, config.crs)
    regions = no_regions(rule)
    regions_file = map_folder / "regions.csv"
    release_file = folder / "site" / "data" / "release.json"
    districts_file = map_folder / "districts.csv"
    # Both are written when a map is published: one that is left tells that the other was lost.
    published_before = any(
        path.exists() for path in (folder / PUBLISHED_MARK, regions_file, districts_file)
    )
    # A list that has vanished from a town with a map is refused below, not passed over.
    if premises is not None or regions_file.exists():
        found = premises.buildings if premises is not None else _NO_BUILDINGS
        regions, changes = regions_for_build(
            regions_file,
            release_file=release_file,
            published_before=published_before,
            premises=count_premises(found, cell_size_m=size),
            boundary_cells=cells_within(basemap.boundary, cell_size_m=size),
            rule=rule,
            accept_loss=accept_loss,
        )
        notices = (*notices, *changes)
    districts = districts_for_build(
        districts_file,
        release=read_release(release_file) if release_file.exists() else None,
        published_before=published_before,
        regions=regions,
    )
    known_addresses = addresses
    memories = load_memories(folder)
    # A new copy of an invented town brings its regions, and nobody's address.
    if published_before and premises is not None and not config.town.invented:
        notices = (*notices, *lost_memories(folder, memories))
    if premises is not None:
        premises, known_addresses, homes = with_gone(
            premises, addresses, memories.recorded, cell_size_m=size
        )
        memories = memories.rehomed(homes)
    public, unknown = _public_buildings(config, addresses, premises)
    return Gazetteer(
        basemap=basemap,
        addresses=addresses,
        premises=premises,
        known_addresses=known_addresses,
        regions=regions,
        districts=districts,
        frame=TownFrame(crs=config.crs, bounds=bounds),
        centre=centre,
        public_buildings=public,
        notices=(*notices, *unknown),
        memories=memories,
        town_name=config.town.name,
    )


def town_centre(config: Config) -> tuple[float, float]:
    """Return the easting and northing of the centre that town.toml states.

    Raises
    ------
    InputError
        If it is no grid reference of the nation's own grid.
    """
    square = parse_grid_ref(config.town.centre)
    own_grid = "IE" if config.crs == "EPSG:29903" else "GB"
    if not isinstance(square, GridSquare) or square.system != own_grid:
        raise InputError(
            Problem(
                "town-centre-unreadable",
                "The town's centre is not a grid reference of the nation's own grid.",
                "Write one such as TG 50 30 (British) or J 33 74 (Irish).",
                file=TOWN_FILE,
                column="town.centre",
            )
        )
    return square.centre


def _bounds(
    basemap: BaseMap, premises: Premises | None, centre: tuple[float, float]
) -> tuple[float, float, float, float]:
    """Return the box of the boundary, else of premises and streets, else about the centre."""
    if basemap.boundary is not None:
        west, south, east, north = basemap.boundary.bounds
        return west, south, east, north
    shapes: list[shapely.Geometry] = [street.lines for street in basemap.streets]
    if premises is not None and not premises.buildings.empty:
        shapes.append(shapely.MultiPoint(premises.buildings[["easting", "northing"]].to_numpy()))
    if shapes:
        west, south, east, north = (float(value) for value in shapely.total_bounds(shapes))
        return west - 1, south - 1, east + 1, north + 1
    x, y = centre
    return x - _NEAR_CENTRE_M, y - _NEAR_CENTRE_M, x + _NEAR_CENTRE_M, y + _NEAR_CENTRE_M


def _public_buildings(
    config: Config, addresses: AddressBook | None, premises: Premises | None
) -> tuple[dict[int, str], tuple[Problem, ...]]:
    """Return the names of public buildings by building id, with notes on those not found."""
    found: dict[int, str] = {}
    unknown = []
    for number, public in enumerate(config.public_buildings, start=1):
        match = addresses.find(public.street, public.house) if addresses is not None else None
        if match is None or match.building is None or addresses is None or premises is None:
            unknown.append(
                Problem(
                    "public-building-not-found",
                    f"Public building {number} is not in the list of addresses.",
                    "Check its street and house against map/addresses.csv.",
                    file=TOWN_FILE,
                    column="public_buildings",
                )
            )
            continue
        place = addresses.buildings.iloc[[match.building]]
        (building,) = assign_building(place["easting"], place["northing"], [0.0], premises)
        found[int(building)] = public.name
    return found, tuple(unknown)
