"""Nest evidence joins one building first; merging never crosses two."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt
import pandas as pd
import pytest

from eaveline.private.merge.box_sightings import of_no_box
from eaveline.private.merge.decisions import Decisions
from eaveline.private.merge.sites import merge_sites
from eaveline.private.register import Register, build_register
from taking import Take

Registering = Callable[..., Register]

HOUSES = np.array([[650_100.0, 330_100.0], [650_106.0, 330_100.0], [650_400.0, 330_100.0]])


def assign(
    easting: npt.ArrayLike, northing: npt.ArrayLike, uncertainty_m: npt.ArrayLike
) -> npt.NDArray[np.int64]:
    """Join to the nearest of three houses."""
    places = np.column_stack([np.asarray(easting, float), np.asarray(northing, float)])
    apart = np.hypot(*(places[:, None, :] - HOUSES).transpose(2, 0, 1))
    return np.where(
        apart.min(axis=1) <= np.asarray(uncertainty_m), apart.argmin(axis=1), -1
    ).astype(np.int64)


@pytest.fixture
def register(take: Take) -> Registering:
    def build(**files: str) -> Register:
        premises = pd.DataFrame(HOUSES, columns=["easting", "northing"])
        made, _ = build_register(
            take(**files),
            premises=premises,
            assign_building=assign,
            sun_times=lambda dates: (np.full(len(dates), 280.0), np.full(len(dates), 1290.0)),
            distance_m=150,
            minutes=10,
        )
        return made

    return build


NESTS = "site,easting,northing,species,season,status,behaviour,share,notes\n"


def test_two_neighbouring_houses_are_two_sites(register: Registering) -> None:
    made = register(
        nest_sites=NESTS
        + "A,650100,330100,swift,2025,in use,,,\nB,650106,330100,swift,2025,in use,,,\n"
    )
    assert made.sites["building"].tolist() == [0, 1]


def test_reports_of_one_building_are_one_site_over_the_years(register: Registering) -> None:
    made = register(
        nest_sites=NESTS
        + "A,650100,330100,swift,2024,in use,entering,,\n"
        + "the old forge,650101,330101,swift,2025,in use,young,,\n"
        + "A,,,swift,2026,quiet,,,\n"
    )
    assert len(made.sites) == 1
    assert made.evidence[["season", "atlas_code", "status"]].to_numpy().tolist() == [
        [2024, 13, "in use"],
        [2025, 16, "in use"],
        [2026, 0, "quiet this season"],
    ]


def test_a_confirmation_is_never_carried_forward(register: Registering) -> None:
    made = register(
        nest_sites=NESTS + "A,650100,330100,swift,2024,in use,young,,\nA,,,swift,2026,in use,,,\n"
    )
    assert made.evidence["atlas_code"].tolist() == [16, 6]


def test_the_two_species_have_sites_of_their_own(register: Registering) -> None:
    made = register(
        nest_sites=NESTS
        + "A,650100,330100,swift,2025,in use,,,\nA,650100,330100,house martin,2025,in use,,,\n"
    )
    assert sorted(made.sites["species"]) == ["house martin", "swift"]


@pytest.mark.parametrize(("method", "buildings"), [("address", [0, 1]), ("grid reference", [1])])
def test_a_sighting_that_names_its_house_is_about_that_house(
    take: Take, method: str, buildings: list[int]
) -> None:
    nests = take(nest_sites=NESTS + "B,650106,330100,swift,2025,in use,,,\n").tables["nest_sites"]
    sightings = pd.DataFrame(
        {
            "key": np.array([7], dtype=np.uint64),
            "species": ["swift"],
            "season": [2025],
            "date": pd.to_datetime(["2025-06-03"]),
            "atlas_code": [13],
            "easting": [650_100.0],
            "northing": [330_100.0],
            "uncertainty_m": [10.0],
            "method": [method],
        },
        index=[100],
    )
    merged = merge_sites(nests, sightings, decisions=Decisions(), assign_building=assign)
    assert sorted(merged.sites["building"]) == buildings


def test_sightings_at_a_wall_join_the_site_and_those_about_a_box_do_not(
    register: Registering,
) -> None:
    head = "date,time,easting,northing,species,behaviour,birds,seen_by,notes\n"
    made = register(
        nest_sites=NESTS + "A,650100,330100,swift,2025,in use,,,\n",
        boxes="box,easting,northing,fixed_on\nB1,650400,330100,1/3/2024\n",
        sightings=head
        + "1/7/2026,21:40,650102,330100,swift,entering,1,Ann,\n"
        + "1/7/2026,21:50,650400,330100,swift,entering,1,Ann,into the box\n",
    )
    assert made.sites["building"].tolist() == [0]
    assert made.evidence["season"].tolist() == [2025, 2026]
    assert made.box_visits.to_numpy().tolist() == [["b1", 2026]]


@pytest.mark.parametrize(
    ("notes", "about_box"),
    [
        ("into the box", True),
        ("nestbox by the gable", True),
        ("Swift brick: left one", True),
        ("two martin cups", True),
        ("mud cup under the eaves", False),
        ("gap where a brick is out", False),
        ("above the letter box", False),
        ("over the box hedge; letterbox", False),
        ("box B021 - not the letter box", True),
        ("", False),
    ],
)
def test_what_speaks_of_a_nest_box(register: Registering, notes: str, *, about_box: bool) -> None:
    """It is evidence for no nest, though no list has the box, and the group is told."""
    made = register(
        sightings="date,time,easting,northing,species,behaviour,birds,seen_by,notes\n"
        f"1/7/2026,21:40,650102,330100,swift,entering,1,Ann,{notes}\n"
    )
    assert made.sightings["about_box"].tolist() == [about_box]
    assert len(made.sites) == (not about_box)
    assert len(of_no_box(made.sightings)) == about_box
    assert made.box_visits.empty


def test_evidence_near_no_building_stays_at_its_place(register: Registering) -> None:
    made = register(
        nest_sites=NESTS + "A,650900,330900,swift,2025,in use,,,\nA,,,swift,2026,in use,,,\n"
    )
    assert made.sites["building"].tolist() == [-1]
    assert len(made.evidence) == 2


def test_one_name_in_two_places_is_two_sites(register: Registering) -> None:
    made = register(
        nest_sites=NESTS
        + "A,650100,330100,swift,2025,in use,,,\nA,650400,330100,swift,2026,in use,,,\n"
    )
    assert sorted(made.sites["building"]) == [0, 2]


def test_one_refusal_goes_before_any_consent(register: Registering) -> None:
    made = register(
        nest_sites=NESTS
        + "A,650100,330100,swift,2025,in use,,yes,\nA,650100,330100,swift,2026,in use,,no,\n"
        + "C,650400,330100,swift,2025,in use,,yes,\n"
    )
    assert dict(zip(made.sites["building"], made.sites["share"], strict=True)) == {
        0: False,
        2: True,
    }


def test_a_box_keeps_its_history_and_a_moved_one_stands_twice(register: Registering) -> None:
    made = register(
        boxes="box,easting,northing,fixed_on,removed_on,height_m\n"
        "B1,650100,330100,1/3/2024,1/2/2025,5\nB1,650400,330100,1/3/2025,,6\n"
        "B2,650106,330100,1/3/2024,,\nB2,,,,,7\n",
        checks="box,date,seen,young\nB1,1/7/2024,empty,\nB1,1/7/2025,swift,2\nB1,1/7/2025,empty,\n",
    )
    boxes = made.boxes.set_index(["title", "standing"])
    assert boxes["building"].to_dict() == {("b1", 0): 0, ("b1", 1): 2, ("b2", 0): 1}
    assert boxes.loc[("b2", 0), "height_m"] == 7
    assert made.checks["seen"].tolist() == ["empty", "swift"]


def test_the_time_of_a_watch_counts_once(register: Registering) -> None:
    made = register(
        watches="watch,date,start,end,streets,watchers,most_birds\n"
        "W1,1/7/2026,20:30,22:00,Elm Row,Ann,0\nW1,1/7/2026,20:30,21:30,Elm Row,Bob,4\n"
        ",1/7/2026,20:30,22:00,Oak Row,Ann,0\n,1/7/2026,20:30,22:00,Oak Row,Bob,0\n"
    )
    assert sorted(made.watches["streets"]) == ["Elm Row", "Oak Row"]
    assert made.watches.set_index("streets")["most_birds"].to_dict() == {"Elm Row": 4, "Oak Row": 0}
    assert sum(made.ledger.counts().values()) == 4
