"""The catalogue of what can be wrong with a row: a code, the reason and the next step.

Texts name no value: rows-to-fix.csv shows the cells themselves beside them.
"""

from __future__ import annotations

from types import MappingProxyType

ROW_PROBLEMS: MappingProxyType[str, tuple[str, str]] = MappingProxyType(
    {
        "cell-missing": ("This cell is needed and is empty.", "Fill it in."),
        "one-of-missing": ("One of these columns must be filled.", "Fill in one of them."),
        "place-missing": (
            "The row says no place.",
            "Give a grid reference, coordinates, or street and house.",
        ),
        "row-too-long": (
            "The row has more cells than there are headings; they may have slipped sideways.",
            "Put each cell under its heading (a comma inside a cell needs quotation marks).",
        ),
        "line-not-a-record": (
            "This looks like a total, a note or a further row of headings, not a record.",
            "Nothing is needed if so; it can be removed from the file.",
        ),
        "date-unreadable": (
            "This is not a date we can read.",
            "Write it day first, like 3/6/2026.",
        ),
        "date-impossible": (
            "There is no such day.",
            "Look up the right day and write it like 3/6/2026.",
        ),
        "date-without-year": ("The date has no year.", "Add the year."),
        "date-without-day": (
            "The date names a month, but no day.",
            "Add the day; without one the row cannot be set beside others.",
        ),
        "date-month-first": (
            "This date works only with the month first; others in the file may be turned too.",
            "Check the whole file, and write dates day first.",
        ),
        "date-too-old": ("The year is before 1950.", "Check the year."),
        "date-in-future": ("The date has not come yet.", "Check the day, month and year."),
        "date-out-of-season": (
            "Swifts and house martins are not in Britain at that time of year.",
            "Check the month; if the bird really was there, add 'checked' to the notes.",
        ),
        "season-unreadable": ("This is not a year we can read.", "Write the year in four digits."),
        "season-date-disagree": (
            "The season and the date give different years.",
            "Correct one of them, or leave the season empty.",
        ),
        "time-unreadable": ("This is not a time we can read.", "Write it like 21:40."),
        "time-impossible": ("There is no such time.", "Write it like 21:40."),
        "time-range": (
            "Two times stand in one cell.",
            "For a watch write the start here and its end under end; for a sighting, one time.",
        ),
        "time-unclear": ("Morning or evening is not clear.", "Write it like 21:40."),
        "end-before-start": (
            "The watch ends before it starts.",
            "Check both times; evening times need pm or the 24-hour clock.",
        ),
        "watch-too-long": ("The watch lasts over eight hours.", "Check both times."),
        "count-unreadable": ("This is not a number we can read.", "Write a whole number."),
        "number-unreadable": ("This is not a number we can read.", "Write a plain number."),
        "number-unit-unknown": (
            "The unit is not one this column takes.",
            "Write the number in the column's unit.",
        ),
        "number-negative": ("A number below zero makes no sense here.", "Check it."),
        "number-too-low": ("The number is too low to be right.", "Check the number and its unit."),
        "number-too-high": (
            "The number is too high to be right.",
            "Check the number and its unit.",
        ),
        "birds-zero": (
            "No birds seen is no sighting.",
            "If somebody watched and saw none, put a row in watches/; that counts as an answer.",
        ),
        "yes-no-unclear": ("Neither yes nor no.", "Write yes or no, or leave it empty."),
        "species-unknown": (
            "Only swifts and house martins are recorded here.",
            "Write swift or house martin.",
        ),
        "behaviour-unknown": (
            "This behaviour is not one we know.",
            "Use the words of the record form, such as screaming party.",
        ),
        "status-unknown": (
            "This status is not one we know.",
            "Write in use, quiet this season, lost, blocked or not checked.",
        ),
        "lost-cause-unknown": (
            "This cause of a loss is not one we know.",
            (
                "Write re-roofed, eaves closed, wall repaired, netting, demolished, storm, other"
                " or unknown, and the rest in the notes."
            ),
        ),
        "seen-unknown": (
            "This is not an answer we know for a box check.",
            "Write not checked, empty, swift, house martin, house sparrow, starling, tit or other.",
        ),
        "stage-unknown": (
            "This stage is not one we know.",
            "Write prospecting, building, eggs, young, fledged or failed.",
        ),
        "facing-unknown": ("This is not a direction.", "Write N, NE, E, SE, S, SW, W or NW."),
        "decision-unknown": ("Neither same nor different.", "Write same or different."),
        "outline-unreadable": (
            "The site's outline is no polygon, line or point that can be read as WKT.",
            "Write it as POLYGON ((650000 330000, ...)) in the town's grid, or leave it empty.",
        ),
        "comments-before-received": (
            "Comments end before the application came in.",
            "Check both dates.",
        ),
        "removed-before-fixed": ("The box came down before it went up.", "Check both dates."),
        "calls-turned-round": ("The caller stops before it starts.", "Check both dates."),
        "box-held": (
            "The row of its box is held back itself, so this check counts nowhere yet.",
            "Mend the box's own row; nothing is needed here.",
        ),
        "box-unknown": (
            "No box has this id.",
            "Correct the id, or add the box to boxes/.",
        ),
        "check-before-box": (
            "The check is older than the box.",
            "Check the date and the box's id.",
        ),
        "check-after-removal": (
            "The box was already down by then.",
            "Check the date and the box's id.",
        ),
        "box-in-two-places": (
            "The same box id is given at two places far apart.",
            "Give one of them another id, or a date of removal if the box was moved.",
        ),
        "site-place-unknown": (
            "The row names a site whose place no row gives.",
            "Give the place here or in another row of the same site.",
        ),
        "decision-row-unknown": (
            "No row has this key.",
            "Copy the key again from worth-a-look.csv; the row may have been corrected since.",
        ),
        "decision-contradicted": (
            "Another row decides the opposite for the same two.",
            "Keep only the decision that is right.",
        ),
        "correction-without-key": (
            "The correction does not say which row it replaces.",
            "Copy the key from rows-to-fix.csv.",
        ),
        "correction-without-folder": (
            "The correction does not say which folder it belongs to.",
            "Copy the folder from rows-to-fix.csv.",
        ),
        "correction-names-no-row": (
            "No row has this key; it may have been mended in its own file.",
            "Remove the correction if so, or copy the key again from rows-to-fix.csv.",
        ),
        "correction-twice": (
            "Two different corrections name the same row.",
            "Keep the right one and remove the other.",
        ),
    }
)

REPAIRS: MappingProxyType[str, str] = MappingProxyType(
    {
        "count-estimate-taken": "An estimate was taken as the number it names.",
        "count-lower-end-taken": "Of a range, the lower end was taken.",
        "place-of-namesake-used": (
            "The place was told, not given; that of another row of the same name was used."
        ),
        "date-month-spelling": "The spelling can mean only one month.",
        "time-from-date": "The time stood in the date's cell.",
        "time-estimate-taken": "An estimate was taken as the time it names.",
        "number-estimate-taken": "An estimate was taken as the number it names.",
    }
)
"""Repairs that are certain: made, then listed."""
