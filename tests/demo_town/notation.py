"""Places, dates and times in every notation a member may use."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable

from convertbng.cutil import convert_lonlat

from demo_town.entries import Spot

SQUARE = (600_000, 300_000)
"""South-west corner of the 100 km square TG."""
EXCEL_EPOCH = dt.date(1899, 12, 30)
PLACE_FIELDS = ("grid_ref", "latitude", "longitude", "easting", "northing", "street", "house")

Cells = dict[str, str]
PlaceWriter = Callable[[Spot], Cells]


def grid_reference(x: float, y: float, *, figures: int) -> tuple[str, str]:
    """Return the two halves of a grid reference in TG, truncated to `figures` in all."""
    each = figures // 2
    step = 10 ** (5 - each)
    halves = (int(value - corner) // step for value, corner in zip((x, y), SQUARE, strict=True))
    east, north = (f"{half:0{each}d}" for half in halves)
    return east, north


def _grid(figures: int, pattern: str) -> PlaceWriter:
    def write(spot: Spot) -> Cells:
        east, north = grid_reference(spot.x, spot.y, figures=figures)
        return {"grid_ref": pattern.format(e=east, n=north)}

    return write


def longitude_latitude(spot: Spot) -> tuple[float, float]:
    """Return longitude and latitude (ETRS89) in degrees."""
    lon, lat = convert_lonlat([spot.x], [spot.y])
    return float(lon[0]), float(lat[0])


def _decimal(digits: int, *, suffix: bool = False) -> PlaceWriter:
    def write(spot: Spot) -> Cells:
        lon, lat = longitude_latitude(spot)
        north, east = (" N", " E") if suffix else ("", "")
        return {"latitude": f"{lat:.{digits}f}{north}", "longitude": f"{lon:.{digits}f}{east}"}

    return write


def _one_cell_decimal(spot: Spot) -> Cells:
    lon, lat = longitude_latitude(spot)
    return {"latitude": f"{lat:.5f}, {lon:.5f}"}


def degrees_minutes_seconds(degrees: float) -> str:
    """Return degrees, minutes and seconds to 0.1 second."""
    tenths = round(degrees * 36_000)
    minutes, rest = divmod(tenths, 600)
    return f"{minutes // 60}°{minutes % 60:02d}'{rest / 10:04.1f}\""


def _dms(spot: Spot) -> Cells:
    lon, lat = longitude_latitude(spot)
    return {"latitude": f"{degrees_minutes_seconds(lat)}N {degrees_minutes_seconds(lon)}E"}


def _dms_two_cells(spot: Spot) -> Cells:
    lon, lat = longitude_latitude(spot)
    return {
        "latitude": f"{degrees_minutes_seconds(lat)} N",
        "longitude": f"{degrees_minutes_seconds(lon)} E",
    }


def _easting_northing(spot: Spot) -> Cells:
    return {"easting": str(round(spot.x)), "northing": str(round(spot.y))}


def _address(spot: Spot) -> Cells:
    if spot.building is None:
        msg = "an address needs a building"
        raise ValueError(msg)
    return {"street": spot.building.street, "house": spot.building.house}


def _address_one_cell(spot: Spot) -> Cells:
    cells = _address(spot)
    comma = "" if cells["house"][0].isdigit() else ","
    return {"street": f"{cells['house']}{comma} {cells['street']}"}


PLACES: dict[str, PlaceWriter] = {
    "TG 501 299": _grid(6, "TG {e} {n}"),
    "tg501299": _grid(6, "tg{e}{n}"),
    "TG 5012 2994": _grid(8, "TG {e} {n}"),
    "TG50122994": _grid(8, "TG{e}{n}"),
    "TG 50123 29945": _grid(10, "TG {e} {n}"),
    "TG5012329945": _grid(10, "TG{e}{n}"),
    "52.80957 | 1.70807": _decimal(5),
    "52.8096 N | 1.7081 E": _decimal(4, suffix=True),
    "52.80957, 1.70807": _one_cell_decimal,
    "52°48'34.5\"N 1°42'29.1\"E": _dms,
    "52°48'34.5\" N | 1°42'29.1\" E": _dms_two_cells,
    "650123 | 329945": _easting_northing,
    "Albert Road | 12": _address,
    "12 Albert Road": _address_one_cell,
}
"""Each notation under an example of itself; ``|`` divides two cells."""

_MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")

DATES: dict[str, Callable[[dt.date], str]] = {
    "2026-06-03": dt.date.isoformat,
    "3/6/26": lambda d: f"{d.day}/{d.month}/{d.year % 100:02d}",
    "03/06/2026": lambda d: f"{d.day:02d}/{d.month:02d}/{d.year}",
    "3 June 2026": lambda d: f"{d.day} {_MONTHS[d.month - 1]} {d.year}",
    "Wed 3 June 2026": lambda d: f"{_DAYS[d.weekday()]} {d.day} {_MONTHS[d.month - 1]} {d.year}",
    "3-Jun-26": lambda d: f"{d.day}-{_MONTHS[d.month - 1][:3]}-{d.year % 100:02d}",
    "3rd June 2026": lambda d: f"{d.day}{_ordinal(d.day)} {_MONTHS[d.month - 1]} {d.year}",
    "03.06.2026": lambda d: f"{d.day:02d}.{d.month:02d}.{d.year}",
    "46176": lambda d: str((d - EXCEL_EPOCH).days),
}
"""Each way of writing 3 June 2026, under itself."""


def _ordinal(day: int) -> str:
    if 10 < day < 20:
        return "th"
    return {1: "st", 2: "nd", 3: "rd"}.get(day % 10, "th")


def _twelve(minute: int, pattern: str) -> str:
    hour, rest = divmod(minute, 60)
    return pattern.format(h=(hour - 1) % 12 + 1, m=rest, half="pm" if hour >= 12 else "am")


TIMES: dict[str, Callable[[int], str]] = {
    "21:40": lambda m: f"{m // 60:02d}:{m % 60:02d}",
    "21.40": lambda m: f"{m // 60:02d}.{m % 60:02d}",
    "2140": lambda m: f"{m // 60:02d}{m % 60:02d}",
    "9.40pm": lambda m: _twelve(m, "{h}.{m:02d}{half}"),
    "9:40 pm": lambda m: _twelve(m, "{h}:{m:02d} {half}"),
    "21:40:00": lambda m: f"{m // 60:02d}:{m % 60:02d}:00",
}
"""Each way of writing twenty to ten in the evening, under itself."""
