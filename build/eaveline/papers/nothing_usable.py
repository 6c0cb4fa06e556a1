"""What is said where no record can be used yet, as with the first files of a new town."""

from __future__ import annotations

from eaveline.errors import Problem
from eaveline.private.intake.ledger import Ledger, RowState
from eaveline.private.intake.take_in import Intake


def nothing_usable(intake: Intake, ledger: Ledger) -> list[Problem]:
    """Return why there is nothing to publish: what is wrong with the files, then what to do."""
    if not len(ledger.rows):
        what = "There are no records yet, so there is nothing to publish."
        step = (
            "Put your members' files into the folders of survey_data/, which COLUMNS.md there"
            " explains, and build again."
        )
    elif ledger.counts()[RowState.USED]:
        what = "No row tells a day on which a bird, a box or nobody was seen: only years, or plans."
        step = "Add the date to a record (of a sighting, say, or a box) and build again."
    else:
        what = "No row can be used together with its date, so there is nothing to publish."
        step = (
            "private/review/rows-to-fix.csv tells what is wrong with each row and what to do;"
            " private/review/mappings/ has a list to complete for each file whose headings are"
            " not understood. Mend them and build again."
        )
    return [*intake.notices, Problem("nothing-to-publish", what, step)]
