"""The catalogue of what can be wrong with a place, or was put right in one.

Texts name no value: rows-to-fix.csv shows the cells themselves beside them.
"""

from __future__ import annotations

from types import MappingProxyType

PLACE_PROBLEMS: MappingProxyType[str, tuple[str, str]] = MappingProxyType(
    {
        "place-missing": (
            "The row says no place.",
            "Give a grid reference, coordinates, or street and house.",
        ),
        "grid-ref-unreadable": (
            "This is not a grid reference we can read.",
            "Write it like TG 501 304: the letters, then as many figures east as north.",
        ),
        "grid-ref-odd-figures": (
            "The grid reference has more figures for one direction than for the other.",
            "Look it up again: it needs as many figures east as north.",
        ),
        "grid-ref-too-long": (
            "The grid reference has more than ten figures.",
            "Ten figures name a square metre; leave off the rest of each half.",
        ),
        "grid-ref-letters-missing": (
            "The grid reference lacks the letters of its 100 km square.",
            "Put the letters in front of the figures.",
        ),
        "grid-ref-letters-unknown": (
            "No 100 km square of the national grid has these letters.",
            "Check the letters in front of the figures.",
        ),
        "grid-ref-letters-elsewhere": (
            "These letters put the place far outside the town; others would put it inside.",
            "Check the letters in front of the figures.",
        ),
        "grid-ref-too-vague": (
            "The grid reference names a square of 100 km, which says too little.",
            "Add figures, or give another kind of place.",
        ),
        "angle-unreadable": (
            "This is not a latitude or longitude we can read.",
            "Write it as degrees with a decimal point, like 52.8123.",
        ),
        "angle-minutes-too-large": (
            "Minutes or seconds of an angle are 60 or more.",
            "Check the figures; with decimals use degrees alone.",
        ),
        "angle-out-of-range": (
            "The number is too large for a latitude or a longitude.",
            "Check it, and whether it is an easting or northing.",
        ),
        "angle-hemisphere-wrong": (
            "N, S, E or W does not go with this column, or goes against another sign.",
            "Check the letters and which column each number stands in.",
        ),
        "metres-unreadable": (
            "This is not an easting or northing we can read.",
            "Write whole metres without letters.",
        ),
        "coordinate-half-missing": (
            "One of two coordinates is given without the other.",
            "Fill in this cell, or empty the other one.",
        ),
        "outside-town": (
            "The place lies far outside the town.",
            "Check the figures; if it is right, the record belongs to another group.",
        ),
        "places-disagree": (
            "The places this row gives lie further apart than their precision allows.",
            "Find out which is right and empty the other.",
        ),
        "street-missing": (
            "There is a house but no street.",
            "Fill in the street.",
        ),
        "street-unknown": (
            "No street of the town's list has this name for certain.",
            "Write the street's name as on its sign, or give a grid reference.",
        ),
        "street-kind-missing": (
            "Several streets of the town begin with this name.",
            "Add Road, Lane or whatever follows it.",
        ),
        "street-two-named": (
            "Two streets are named.",
            "Keep the one it was in, or give a grid reference.",
        ),
        "street-not-on-map": (
            "The street is not on the town's map of streets, so a street alone places nothing.",
            "Add the house, or a grid reference.",
        ),
        "place-is-corner": (
            "A corner of streets is no place we can look up.",
            "Give a grid reference, or one street with a house.",
        ),
        "place-is-opposite": (
            "Opposite something is not the place itself.",
            "Give the address of the building itself, or a grid reference.",
        ),
        "place-is-relative": (
            "The place is told only by what it is near.",
            "Give a grid reference, or the street and house.",
        ),
        "house-unreadable": (
            "This is neither a house number nor a name.",
            "Write it like 12, 12a or The Old Forge.",
        ),
        "house-not-listed": (
            "The address list has no such house in this street.",
            "Check the number, or give a grid reference; a new house can be added to the list.",
        ),
        "house-several-buildings": (
            "The numbers belong to several buildings.",
            "Keep the number of the one building meant.",
        ),
        "house-given-twice": (
            "The street's cell has one house and the house's cell another.",
            "Keep the right one.",
        ),
        "street-without-addresses": (
            "The address list has no house in this street.",
            "Give a grid reference, or add the street's houses to the list.",
        ),
        "address-list-missing": (
            "A house can only be found through an address list, and there is none.",
            "Give a grid reference, or put addresses.csv into survey_data/map.",
        ),
    }
)
"""Code of a fault, then what is wrong and what to do."""

PLACE_REPAIRS: MappingProxyType[str, str] = MappingProxyType(
    {
        "latitude-longitude-swapped": "Latitude and longitude stood in each other's place.",
        "sign-put-right": "A longitude or latitude had the wrong sign.",
        "easting-northing-swapped": "Easting and northing stood in each other's place.",
        "square-figures-added": "Easting and northing lacked the figure of their 100 km square.",
        "degrees-among-metres": "Latitude and longitude stood in the columns for metres.",
        "metres-among-degrees": "Easting and northing stood in the columns for degrees.",
        "place-in-another-column": "The place stood in a column meant for another kind of place.",
        "street-spelling-corrected": "The spelling can mean only one of the town's streets.",
        "street-kind-added": "Road, Lane or whatever follows the name was missing; only one fits.",
        "street-not-used": "No street could be made out; the coordinates were used.",
        "house-not-used": "The house is not in the address list; the rest of the place was used.",
    }
)
"""Code of a repair that was certain, then what was done."""
