"""The review papers: rows to fix, what was merged, pairs worth a look, repairs made."""

from __future__ import annotations

import csv
import io
from collections.abc import Hashable, Iterable, Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd

from eaveline.private.cells import key_text
from eaveline.private.corrections import KEY_COLUMNS
from eaveline.private.intake import Intake
from eaveline.private.ledger import Ledger, RowState
from eaveline.private.place_problems import PLACE_PROBLEMS, PLACE_REPAIRS
from eaveline.private.read import RawFile
from eaveline.private.register import Merges
from eaveline.private.row_problems import REPAIRS, ROW_PROBLEMS
from eaveline.private.schema import KINDS

PROBLEM_TEXTS: Mapping[str, tuple[str, str]] = {**ROW_PROBLEMS, **PLACE_PROBLEMS}
REPAIR_TEXTS: Mapping[str, str] = {**REPAIRS, **PLACE_REPAIRS}


def review_papers(intake: Intake, ledger: Ledger, merges: Merges) -> dict[str, bytes]:
    """Return the review papers by their names below the private folder."""
    rows = RowFinder(intake, ledger)
    return {
        "review/rows-to-fix.csv": rows_to_fix(intake, ledger, rows),
        "review/merged.csv": merged(ledger, merges, rows),
        "review/worth-a-look.csv": worth_a_look(merges, rows),
        "review/repairs.csv": repairs(intake, ledger, rows),
    }


class RowFinder:
    """Finds the original cells of a row by its id."""

    def __init__(self, intake: Intake, ledger: Ledger) -> None:
        """Remember where each file's rows begin."""
        self._files = intake.files
        self._rows = ledger.rows
        self._starts = np.cumsum([0, *(len(raw) for raw in intake.files)])

    def file_of(self, row_id: int) -> RawFile:
        """Return the file the row came in."""
        return self._files[int(np.searchsorted(self._starts, row_id, side="right")) - 1]

    def cells(self, row_id: int) -> dict[str, str]:
        """Return the row's filled cells by canonical name, or by "? heading"."""
        number = int(np.searchsorted(self._starts, row_id, side="right")) - 1
        position = row_id - int(self._starts[number])
        return {
            name: str(column.categories[column.codes[position]])
            for name, column in self._files[number].cells.items()
            if column.codes[position] >= 0
        }

    def place(self, row_id: int) -> tuple[str, int]:
        """Return the row's file and spreadsheet row."""
        return self.file_of(row_id).name, self._number(row_id, "row")

    def key(self, row_id: int) -> str:
        """Return the key people see; of a correction, that of the row it replaces."""
        return key_text(self._number(row_id, "replaces") or self._number(row_id, "key"))

    def own_key(self, row_id: int) -> str:
        """Return the row's own key, which decisions name."""
        return key_text(self._number(row_id, "key"))

    def _number(self, row_id: int, column: str) -> int:
        return int(self._rows[column].to_numpy()[self._rows.index.get_loc(row_id)])


def _csv(header: Sequence[str], lines: Iterable[Sequence[object]]) -> bytes:
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(header)
    writer.writerows(lines)
    return text.getvalue().encode("utf-8-sig")  # the mark lets spreadsheets read names right


def rows_to_fix(intake: Intake, ledger: Ledger, rows: RowFinder) -> bytes:
    """Return rows-to-fix.csv: each held row with all its faults and its original cells."""
    held = ledger.rows[ledger.rows["state"] == RowState.HELD.value]
    faults = intake.faults[intake.faults["row_id"].isin(held.index)]
    by_row = {int(str(row_id)): group for row_id, group in faults.groupby("row_id", sort=False)}
    used_folders = [folder for folder in KINDS if (held["folder"] == folder).any()]
    columns = list(dict.fromkeys(name for folder in used_folders for name in KINDS[folder].names))
    lines = []
    for row_id in held.index:
        file, number = rows.place(row_id)
        cells = rows.cells(row_id)
        found = by_row[int(row_id)].drop_duplicates(["column", "code"])
        texts = [PROBLEM_TEXTS[code] for code in found["code"]]
        other = "; ".join(
            f"{name.removeprefix('? ')}: {text}"
            for name, text in cells.items()
            if name.startswith("? ")
        )
        lines.append(
            (
                str(held.loc[row_id, "folder"]),
                file,
                number,
                [
                    rows.key(row_id),
                    held.loc[row_id, "folder"],
                    file,
                    number,
                    "; ".join(dict.fromkeys(str(name) for name in found["column"] if name)),
                    " ".join(dict.fromkeys(what for what, _ in texts)),
                    " ".join(dict.fromkeys(step for _, step in texts)),
                    "; ".join(dict.fromkeys(str(text) for text in found["suggestion"] if text)),
                    other,
                    *(cells.get(name, "") for name in columns),
                ],
            )
        )
    lines.sort(key=lambda line: line[:3])
    return _csv([*KEY_COLUMNS, *columns], [line[3] for line in lines])


def merged(ledger: Ledger, merges: Merges, rows: RowFinder) -> bytes:
    """Return merged.csv: every row merged away, into which, and how far apart they were."""
    joins = pd.concat([merges.sightings.joins, merges.sites.joins]).set_index("row_id")
    measures: dict[Hashable, dict[Hashable, Any]] = joins.to_dict("index")
    away = ledger.rows[ledger.rows["state"] == RowState.MERGED.value]
    lines = []
    for row_id, into in zip(away.index, away["into"], strict=True):
        file, number = rows.place(row_id)
        into_file, into_number = rows.place(int(into))
        measure = measures.get(row_id)
        known = measure is not None and measure["into"] == into
        why = "one event or site, by the limits or a decision" if known else "the same content"
        if not known and ledger.rows.loc[row_id, "key"] != ledger.rows.loc[into, "key"]:
            why = "one box, check or watch"
        lines.append(
            [
                away.loc[row_id, "folder"],
                file,
                number,
                rows.own_key(row_id),
                into_file,
                into_number,
                rows.own_key(int(into)),
                why,
                *(
                    "" if measure is None or pd.isna(measure.get(name)) else measure[name]
                    for name in ("metres", "limit_m", "minutes", "limit_minutes")
                ),
            ]
        )
    lines.sort(key=lambda line: (str(line[0]), str(line[1]), int(str(line[2]))))
    header = [
        "folder",
        "file",
        "row",
        "key",
        "into_file",
        "into_row",
        "into_key",
        "why",
        "metres_apart",
        "limit_m",
        "minutes_apart",
        "limit_minutes",
    ]
    return _csv(header, lines)


def worth_a_look(merges: Merges, rows: RowFinder) -> bytes:
    """Return worth-a-look.csv: doubtful pairs, most doubtful first, ready for decisions/.

    Its columns first, second, decision, decided_by and why are those of decisions/: fill in
    `decision`, and save the line there.
    """
    questions = (
        (merges.sightings.doubtful, "sightings just beyond the limits or between two groups"),
        (merges.sites.doubtful.assign(part=2.0), "one site name, two places"),
        (merges.boxes.doubtful.assign(part=0.0), "two checks of one day disagree"),
    )
    lines = [
        _pair(rows, pair, question)
        for table, question in questions
        for pair in table.to_dict("records")
    ]
    # A pair close to a limit (1) is the most doubtful.
    lines.sort(key=lambda line: (abs(float(str(line[-1])) - 1.0), str(line[0]), str(line[1])))
    header = [
        "first",
        "second",
        "decision",
        "decided_by",
        "why",
        "question",
        "metres_apart",
        "minutes_apart",
        "first_file",
        "first_row",
        "second_file",
        "second_row",
    ]
    return _csv(header, [line[:-1] for line in lines])


def _pair(rows: RowFinder, pair: Mapping[Hashable, Any], question: str) -> list[object]:
    ids = int(pair["first_id"]), int(pair["second_id"])
    (low_key, low), (high_key, high) = sorted((rows.own_key(row_id), row_id) for row_id in ids)
    apart = [pair.get("metres", ""), pair.get("minutes", "")]
    places = [*rows.place(low), *rows.place(high)]
    return [low_key, high_key, "", "", "", question, *apart, *places, pair["part"]]


def repairs(intake: Intake, ledger: Ledger, rows: RowFinder) -> bytes:
    """Return repairs.csv: every repair that was certain and was made."""
    forgotten = ledger.rows.index[ledger.rows["state"] == RowState.FORGOTTEN.value]
    made = intake.repairs[~intake.repairs["row_id"].isin(forgotten)]
    lines = [
        [*rows.place(row_id), column, REPAIR_TEXTS[code], rows.own_key(row_id)]
        for row_id, column, code in zip(
            made["row_id"].tolist(), made["column"].tolist(), made["code"].tolist(), strict=True
        )
    ]
    lines.sort(key=lambda line: (str(line[0]), int(str(line[1])), str(line[2])))
    return _csv(["file", "row", "column", "repair", "key"], lines)
