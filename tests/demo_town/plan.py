"""The town plan: every street's line as drawn by hand, in metres from the origin.

Ends that lie near another street are joined to it later (`demo_town.geography`), so the
numbers need only be about right.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

Kind = Literal["town", "terrace", "semi", "estate", "close", "detached", "new", "lane"]
Point = tuple[float, float]

ORIGIN: Point = (650_000.0, 330_000.0)
"""TG 50 30: open sea."""


class Street(NamedTuple):
    """One street as drawn."""

    name: str
    kind: Kind
    line: tuple[Point, ...]
    built: tuple[float, float] = (0.0, 1.0)
    """The share of its length that has houses, from one fraction to another."""
    sides: Literal["both", "left", "right"] = "both"


OLD_TOWN: tuple[Street, ...] = (
    Street(
        "High Street",
        "town",
        (
            (-564, -241),
            (-473, -193),
            (-391, -157),
            (-218, -102),
            (-55, -86),
            (109, -100),
            (300, -173),
            (473, -300),
        ),
    ),
    Street(
        "Market Place",
        "town",
        ((-47, -87), (-56, -50), (-49, -16), (0, -7), (47, -13), (58, -47), (55, -91)),
        sides="left",
    ),
    Street("Bridge Street", "town", ((0, -9), (20, 55), (53, 136), (73, 205), (77, 273))),
    Street("Church Street", "town", ((-218, -102), (-224, -27), (-202, 46), (-173, 87))),
    Street(
        "Church Lane", "town", ((-53, -41), (-100, -56), (-155, -55), (-221, -66)), sides="left"
    ),
    Street("Tanner's Row", "terrace", ((35, 91), (-36, 71), (-109, 75), (-177, 82)), sides="right"),
    Street("Mill Lane", "town", ((-391, -157), (-386, -55), (-350, 36), (-296, 107))),
    Street(
        "Wharf Street",
        "terrace",
        ((42, 102), (136, 116), (246, 98), (341, 50), (411, -27)),
        sides="right",
    ),
    Street("Sheep Street", "town", ((109, -100), (127, -18), (138, 55), (146, 115))),
    Street("Cross Street", "town", ((53, -27), (91, -24), (129, -20))),
    Street("Chandlers Row", "terrace", ((300, -173), (293, -82), (314, 0), (335, 53))),
    Street(
        "Back Lane",
        "town",
        (
            (-364, -146),
            (-300, -202),
            (-191, -187),
            (-91, -175),
            (100, -187),
            (209, -226),
            (314, -187),
        ),
        sides="right",
    ),
    Street("St Anne's Terrace", "terrace", ((-91, -175), (-98, -264), (-120, -369))),
    Street(
        "Rectory Lane", "detached", ((100, -187), (111, -273), (86, -378), (27, -473), (-23, -510))
    ),
    Street(
        "Priory Street",
        "town",
        ((-255, -382), (-120, -369), (-9, -389), (86, -375), (209, -348), (314, -300), (387, -232)),
    ),
    Street("School Road", "semi", ((-473, -193), (-435, -300), (-364, -393), (-255, -382))),
    Street(
        "Southgate",
        "detached",
        ((-9, -389), (-20, -510), (-56, -655), (-36, -819), (18, -1046), (46, -1347)),
        built=(0.0, 0.42),
    ),
)

NORTH_BANK: tuple[Street, ...] = (
    Street("Station Road", "town", ((77, 273), (68, 382), (98, 510), (171, 637), (228, 783))),
    Street("North Quay", "town", ((76, 238), (0, 218), (-109, 211), (-237, 238), (-346, 287))),
    Street(
        "Maltings Road",
        "terrace",
        ((78, 250), (182, 258), (309, 218), (428, 144), (546, 76)),
        sides="left",
    ),
    Street(
        "Mill Road",
        "terrace",
        ((546, 76), (566, 155), (587, 264), (630, 382), (701, 510), (784, 655)),
        built=(0.0, 0.8),
        sides="left",
    ),
    Street("Albert Road", "terrace", ((71, 357), (200, 360), (328, 333), (455, 280), (573, 214))),
    Street("Alma Street", "terrace", ((98, 487), (228, 488), (369, 457), (510, 399), (612, 335))),
    Street(
        "Inkerman Street",
        "terrace",
        ((162, 622), (273, 619), (410, 587), (564, 526), (673, 462)),
        sides="right",
    ),
    Street(
        "Foundry Street", "terrace", ((305, 223), (324, 333), (369, 457), (408, 582)), sides="left"
    ),
    Street("Chapel Street", "town", ((69, 393), (-55, 404), (-182, 386), (-300, 346), (-382, 335))),
    Street(
        "Gladstone Street",
        "terrace",
        ((95, 499), (-36, 506), (-173, 490), (-314, 441)),
        built=(0.0, 0.8),
    ),
    Street(
        "Jubilee Terrace",
        "terrace",
        ((-182, 386), (-173, 490), (-146, 586), (-136, 678)),
        built=(0.0, 0.66),
    ),
    Street(
        "Railway Terrace", "terrace", ((195, 699), (73, 704), (-55, 699), (-136, 678)), sides="left"
    ),
    Street(
        "Festival Road",
        "semi",
        ((593, 278), (692, 251), (801, 273), (875, 364), (846, 473), (728, 548)),
    ),
    Street("Drovers Way", "semi", ((728, 64), (757, 164), (774, 266))),
    Street(
        "Osier Way",
        "new",
        ((-346, 287), (-437, 387), (-491, 537), (-437, 657), (-309, 701), (-136, 678)),
    ),
    Street("Sedge Close", "new", ((-428, 378), (-382, 428), (-387, 491))),
    Street("Kingcup Close", "new", ((-487, 555), (-419, 562), (-364, 592))),
)

WEST_END: tuple[Street, ...] = (
    Street(
        "West Road",
        "semi",
        ((-564, -241), (-728, -275), (-910, -257), (-1138, -300), (-1474, -382)),
        built=(0.0, 0.55),
    ),
    Street(
        "Elm Avenue", "semi", ((-692, -269), (-675, -164), (-622, -55), (-548, 38), (-480, 136))
    ),
    Street(
        "Poplar Avenue", "semi", ((-819, -269), (-812, -136), (-766, 0), (-701, 116), (-628, 211))
    ),
    Street(
        "The Crescent", "semi", ((-642, -102), (-546, -126), (-462, -55), (-453, 31), (-519, 76))
    ),
    Street(
        "Coronation Road",
        "semi",
        ((-353, 31), (-423, 98), (-510, 162), (-619, 213), (-746, 228), (-875, 169)),
    ),
    Street(
        "King's Drive", "semi", ((-794, -75), (-910, -60), (-985, 33), (-966, 133), (-875, 169))
    ),
    Street("Beech Walk", "semi", ((-774, -275), (-763, -364), (-804, -460))),
    Street("Chestnut Drive", "semi", ((-435, -300), (-546, -360), (-664, -386), (-763, -364))),
    Street(
        "Sycamore Road",
        "semi",
        ((-615, -257), (-626, -364), (-592, -473), (-510, -550), (-382, -555), (-238, -546)),
    ),
    Street("Orchard Drive", "detached", ((-50, -628), (-164, -621), (-273, -659), (-308, -755))),
)

LARKFIELD: tuple[Street, ...] = (
    Street(
        "Ferry Road",
        "semi",
        ((473, -300), (619, -366), (801, -366), (1001, -300), (1228, -300), (1502, -366)),
        built=(0.0, 0.5),
    ),
    Street(
        "Larkfield Way",
        "estate",
        (
            (619, -366),
            (641, -473),
            (586, -582),
            (475, -657),
            (346, -675),
            (200, -639),
            (91, -587),
            (-36, -582),
        ),
    ),
    Street(
        "Lapwing Drive",
        "estate",
        ((641, -473), (746, -491), (844, -566), (839, -692), (728, -766), (601, -748), (482, -657)),
    ),
    Street(
        "Kestrel Way", "estate", ((410, -670), (431, -582), (400, -491), (420, -400), (414, -264))
    ),
    Street("Skylark Close", "close", ((596, -569), (637, -632), (719, -637))),
    Street("Linnet Close", "close", ((742, -491), (728, -555), (770, -610))),
    Street("Plover Close", "close", ((843, -564), (928, -535), (992, -557))),
    Street("Curlew Close", "close", ((842, -672), (926, -672), (968, -724))),
    Street("Dunlin Close", "close", ((728, -766), (752, -846), (824, -875))),
    Street("Avocet Close", "close", ((633, -757), (624, -842), (564, -895))),
    Street("Redshank Close", "close", ((487, -657), (466, -750), (400, -804))),
    Street("Bunting Close", "close", ((346, -675), (324, -755), (264, -794))),
    Street("Wren Close", "close", ((273, -660), (304, -582), (273, -519))),
    Street("Pipit Close", "close", ((411, -539), (491, -515), (532, -460))),
    Street("Fieldfare Close", "close", ((200, -639), (178, -721), (109, -774))),
)

COUNTRY: tuple[Street, ...] = (
    Street("Northmoor Lane", "lane", ((228, 783), (300, 910), (275, 1092), (355, 1365))),
    Street("Fen Lane", "lane", ((784, 655), (892, 774), (1046, 848), (1292, 1001))),
    Street("Marsh Road", "lane", ((546, 76), (728, 64), (864, 120), (1046, 173), (1347, 223))),
    Street("Reed Drove", "lane", ((-875, 169), (-1001, 237), (-1183, 218), (-1456, 300))),
    Street("Osier Drove", "lane", ((-437, 657), (-582, 801), (-783, 874), (-1074, 1074))),
)

STREETS: tuple[Street, ...] = OLD_TOWN + NORTH_BANK + WEST_END + LARKFIELD + COUNTRY

RIVER: tuple[Point, ...] = (
    (-1638, 692),
    (-1347, 637),
    (-1074, 473),
    (-801, 510),
    (-564, 346),
    (-346, 173),
    (-109, 133),
    (100, 195),
    (337, 138),
    (537, -36),
    (774, -118),
    (1001, 18),
    (1274, -64),
    (1638, -36),
)

BOUNDARY: tuple[Point, ...] = (
    (-1502, -473),
    (-1128, -582),
    (-874, -746),
    (-510, -910),
    (-346, -1147),
    (-109, -1347),
    (218, -1329),
    (437, -1110),
    (819, -1074),
    (1092, -874),
    (1256, -564),
    (1529, -473),
    (1511, -109),
    (1438, 328),
    (1474, 746),
    (1365, 1074),
    (983, 1110),
    (692, 1292),
    (273, 1401),
    (-73, 1183),
    (-473, 1147),
    (-874, 1219),
    (-1147, 1147),
    (-1256, 819),
    (-1511, 473),
    (-1565, 55),
)

GREENS: tuple[tuple[str, tuple[Point, ...]], ...] = (
    ("St Anne's Churchyard", ((-187, -38), (-91, -40), (-84, 36), (-118, 55), (-182, 40))),
    ("School Field", ((-400, -320), (-300, -357), (-273, -273), (-318, -238), (-410, -248))),
    (
        "Memorial Park",
        ((-637, 278), (-510, 244), (-428, 178), (-455, 153), (-582, 228), (-728, 249), (-728, 300)),
    ),
    ("Station Allotments", ((273, 664), (510, 601), (582, 692), (437, 783), (291, 774))),
    ("Larkfield Green", ((537, -537), (582, -510), (582, -546), (546, -569), (514, -564))),
    (
        "Ferry Meadow",
        ((582, -300), (783, -328), (956, -264), (965, -55), (819, -136), (692, -136), (564, -100)),
    ),
    ("Cricket Field", ((-382, -510), (-273, -519), (-264, -437), (-355, -419), (-400, -455))),
)

FARMS: tuple[tuple[str, str, Point], ...] = (
    ("Northmoor Farm", "Northmoor Lane", (228, 1074)),
    ("Barn Cottage", "Northmoor Lane", (318, 919)),
    ("Fen Farm", "Fen Lane", (1074, 896)),
    ("Marsh Farm", "Marsh Road", (1056, 218)),
    ("Wharfinger's Cottage", "Marsh Road", (855, 98)),
    ("Reed Farm", "Reed Drove", (-1192, 273)),
    ("Osier Farm", "Osier Drove", (-810, 924)),
    ("West Farm", "West Road", (-1238, -273)),
    ("Ferry Farm", "Ferry Road", (1219, -350)),
    ("South Lodge", "Southgate", (-9, -1056)),
    ("Chalk Farm", "Southgate", (64, -1128)),
)

NAMED_BUILDINGS: tuple[tuple[str, str, Point], ...] = (
    ("St Anne's Church", "Church Street", (-136, 5)),
    ("Ottersley Primary School", "School Road", (-411, -289)),
    ("Methodist Chapel", "Chapel Street", (-86, 422)),
    ("Station House", "Station Road", (251, 770)),
    ("The Old Mill", "Mill Lane", (-282, 120)),
    ("The Rectory", "Rectory Lane", (138, -300)),
)

FLATS: tuple[str, str, Point, int] = ("Malthouse Court", "Maltings Road", (496, 127), 12)
"""A block of flats: one building, one point, twelve addresses."""
