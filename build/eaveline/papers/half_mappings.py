"""Half-filled column mappings, for files whose headings don't say enough."""

from __future__ import annotations

import csv
import io

from eaveline.private.intake.headings import lacking
from eaveline.private.intake.mappings import MAPPING_COLUMNS, mapping_file_name
from eaveline.private.intake.raw import RawFile
from eaveline.private.intake.take_in import Intake


def half_mappings(intake: Intake) -> dict[str, bytes]:
    """Return a mapping to complete for each such file, by its name below the private folder.

    Completed and moved to survey_data/mappings/ it is used for every file with the same
    headings. Its columns `perhaps` and `example` are there to help, and are not read.
    """
    return {
        f"review/mappings/{mapping_file_name(raw.name)}": _half_filled(raw)
        for raw in intake.files
        if raw.unmapped
    }


def _half_filled(raw: RawFile) -> bytes:
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow([*MAPPING_COLUMNS, "perhaps", "example"])
    for heading in raw.unmapped:
        if heading.text:
            cells = [heading.means or "", "", heading.perhaps or "", heading.example]
            writer.writerow([raw.folder, heading.text, *cells])
    present = {heading.means for heading in raw.unmapped if heading.means}
    for name in lacking(present, folder=raw.folder):
        # A column the file lacks may say the same in every row, such as the species.
        if name.isidentifier():
            writer.writerow([raw.folder, "", name, "", "", ""])
    return text.getvalue().encode("utf-8-sig")
