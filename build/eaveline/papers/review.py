"""The review papers: rows to fix, what was merged, pairs worth a look, repairs made."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from eaveline.messages import gettext as _
from eaveline.messages import language
from eaveline.papers.changed_rows import changed_rows
from eaveline.papers.half_mappings import half_mappings
from eaveline.private.intake.cells import key_texts
from eaveline.private.intake.corrections import KEY_COLUMNS
from eaveline.private.intake.ledger import Ledger, RowState
from eaveline.private.intake.row_problems import REPAIRS, ROW_PROBLEMS
from eaveline.private.intake.schema import KINDS
from eaveline.private.intake.take_in import Intake
from eaveline.private.places.place_problems import PLACE_PROBLEMS, PLACE_REPAIRS
from eaveline.private.register import Merges

PROBLEM_TEXTS: Mapping[str, tuple[str, str]] = {**ROW_PROBLEMS, **PLACE_PROBLEMS}
REPAIR_TEXTS: Mapping[str, str] = {**REPAIRS, **PLACE_REPAIRS}

Objects = npt.NDArray[np.object_]


def in_words(text: str) -> str:
    """Return a text of these catalogues, which messages.pot lists, in the language in use."""
    return language().translations.gettext(text)


def review_papers(intake: Intake, ledger: Ledger, merges: Merges) -> dict[str, bytes]:
    """Return the review papers by their names below the private folder."""
    rows = RowFinder(intake, ledger)
    return {
        "review/rows-to-fix.csv": rows_to_fix(intake, ledger, rows),
        "review/merged.csv": merged(ledger, merges, rows),
        "review/worth-a-look.csv": worth_a_look(merges, rows),
        "review/repairs.csv": repairs(intake, ledger, rows),
        "review/changed-rows.csv": changed_rows(intake, ledger),
        **half_mappings(intake),
    }


class RowFinder:
    """Finds the original cells of rows by their ids."""

    def __init__(self, intake: Intake, ledger: Ledger) -> None:
        """Remember where each file's rows begin."""
        self._files = intake.files
        self._starts = np.cumsum([0, *(len(raw) for raw in intake.files)])
        self._names = np.array([raw.name for raw in intake.files], dtype=object)
        # Ids run from 0 in the order the rows were read, so they are positions.
        self._rows = {
            name: ledger.rows[name].to_numpy() for name in ("file", "row", "key", "replaces")
        }

    def cells(self, row_id: int) -> dict[str, str]:
        """Return the row's filled cells by canonical name, or by "? heading"."""
        number = int(self._rows["file"][row_id])
        position = row_id - int(self._starts[number])
        return {
            name: str(column.categories[column.codes[position]])
            for name, column in self._files[number].cells.items()
            if column.codes[position] >= 0
        }

    def files(self, row_ids: npt.ArrayLike) -> Objects:
        """Return the name of the file each row came in."""
        found: Objects = self._names[self._rows["file"][np.asarray(row_ids, dtype=np.int64)]]
        return found

    def numbers(self, row_ids: npt.ArrayLike) -> npt.NDArray[np.int64]:
        """Return each row's number in its spreadsheet."""
        found: npt.NDArray[np.int64] = self._rows["row"][np.asarray(row_ids, dtype=np.int64)]
        return found

    def keys(self, row_ids: npt.ArrayLike) -> Objects:
        """Return the keys that corrections name; of a correction, that of the row it replaces."""
        at = np.asarray(row_ids, dtype=np.int64)
        replaced = self._rows["replaces"][at]
        return key_texts(np.where(replaced > 0, replaced, self._rows["key"][at]))

    def own_keys(self, row_ids: npt.ArrayLike) -> Objects:
        """Return the rows' own keys, which decisions name."""
        return key_texts(self._rows["key"][np.asarray(row_ids, dtype=np.int64)])


def _csv(header: Sequence[str], lines: Iterable[Sequence[object]]) -> bytes:
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(header)
    writer.writerows(lines)
    return text.getvalue().encode("utf-8-sig")  # the mark lets spreadsheets read names right


def rows_to_fix(intake: Intake, ledger: Ledger, rows: RowFinder) -> bytes:
    """Return rows-to-fix.csv: each held row with all its faults and its original cells."""
    held = ledger.rows[ledger.rows["state"] == RowState.HELD.value]
    ids = held.index.to_numpy()
    used_folders = [folder for folder in KINDS if (held["folder"] == folder).any()]
    columns = list(dict.fromkeys(name for folder in used_folders for name in KINDS[folder].names))
    faults = _faults_by_row(intake.faults, ids)
    folders = held["folder"].tolist()
    files, numbers, keys = rows.files(ids), rows.numbers(ids), rows.keys(ids)
    lines: list[list[object]] = []
    for place in sorted(range(len(ids)), key=lambda at: (folders[at], files[at], numbers[at])):
        cells = rows.cells(int(ids[place]))
        found = faults[int(ids[place])]
        lines.append(
            [
                keys[place],
                folders[place],
                files[place],
                numbers[place],
                _listed((column for column, *_rest in found), "; "),
                _listed((in_words(PROBLEM_TEXTS[code][0]) for _column, code, _hint in found), " "),
                _listed((in_words(PROBLEM_TEXTS[code][1]) for _column, code, _hint in found), " "),
                _listed((suggestion for *_rest, suggestion in found), "; "),
                "; ".join(
                    f"{name.removeprefix('? ')}: {text}"
                    for name, text in cells.items()
                    if name.startswith("? ")
                ),
                *(cells.get(name, "") for name in columns),
            ]
        )
    return _csv([*KEY_COLUMNS, *columns], lines)


def _faults_by_row(
    faults: pd.DataFrame, ids: npt.NDArray[np.int64]
) -> dict[int, list[tuple[str, str, str]]]:
    """Return for each row its faults as column, code and suggestion, in the order found."""
    by_row: dict[int, list[tuple[str, str, str]]] = {int(row_id): [] for row_id in ids}
    some = faults[faults["row_id"].isin(ids)].drop_duplicates(["row_id", "column", "code"])
    for row_id, column, code, suggestion in zip(
        some["row_id"].tolist(),
        some["column"].tolist(),
        some["code"].tolist(),
        some["suggestion"].tolist(),
        strict=True,
    ):
        by_row[row_id].append((column, code, suggestion))
    return by_row


def _listed(texts: Iterable[str], separator: str) -> str:
    """Return the texts that are not empty, each once, in order."""
    return separator.join(dict.fromkeys(text for text in texts if text))


def merged(ledger: Ledger, merges: Merges, rows: RowFinder) -> bytes:
    """Return merged.csv: every row merged away, into which, and how far apart they were."""
    joins = pd.concat([merges.sightings.joins, merges.sites.joins]).drop_duplicates("row_id")
    away = ledger.rows[ledger.rows["state"] == RowState.MERGED.value]
    ids, into = away.index.to_numpy(), away["into"].to_numpy(dtype=np.int64)
    measures = joins.set_index("row_id").reindex(ids)
    measured = (measures["into"] == into).to_numpy()
    same = away["key"].to_numpy() == ledger.rows["key"].to_numpy()[into]
    why = np.select(
        [measured, same],
        [_("one event or site, by the limits or a decision"), _("the same content")],
        _("one box, check or watch"),
    )
    table = pd.DataFrame(
        {
            "folder": away["folder"].to_numpy(),
            "file": rows.files(ids),
            "row": rows.numbers(ids),
            "key": rows.own_keys(ids),
            "into_file": rows.files(into),
            "into_row": rows.numbers(into),
            "into_key": rows.own_keys(into),
            "why": why,
            "metres_apart": measures["metres"].to_numpy(),
            "limit_m": measures["limit_m"].to_numpy(),
            "minutes_apart": measures["minutes"].to_numpy(),
            "limit_minutes": measures["limit_minutes"].to_numpy(),
            "part_of_limits": measures["part"].to_numpy(),
        }
    ).sort_values(["folder", "file", "row"])
    return table.to_csv(index=False, lineterminator="\r\n").encode("utf-8-sig")


def worth_a_look(merges: Merges, rows: RowFinder) -> bytes:
    """Return worth-a-look.csv: doubtful pairs, most doubtful first, ready for decisions/.

    Its columns first, second, decision, decided_by and why are those of decisions/: fill in
    `decision`, and save the line there.
    """
    questions = (
        (merges.sightings.doubtful, _("sightings just beyond the limits or between two groups")),
        (merges.sites.doubtful.assign(part=2.0), _("one site name, two places")),
        (merges.boxes.doubtful.assign(part=0.0), _("two checks of one day disagree")),
    )
    tables = [_pairs(rows, table, question) for table, question in questions]
    lines = [line for table in tables for line in table]
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


def _pairs(rows: RowFinder, table: pd.DataFrame, question: str) -> list[list[object]]:
    """Return a line for each pair, the row with the lower key first, and its part of the limit."""
    lines: list[list[object]] = []
    ids = table[["first_id", "second_id"]].to_numpy(dtype=np.int64).reshape(-1, 2)
    keys = rows.own_keys(ids.ravel()).reshape(-1, 2)
    files, numbers = rows.files(ids), rows.numbers(ids)
    for at, pair in enumerate(table.to_dict("records")):
        low, high = sorted((0, 1), key=lambda side: str(keys[at, side]))
        lines.append(
            [
                keys[at, low],
                keys[at, high],
                *("", "", "", question, pair.get("metres", ""), pair.get("minutes", "")),
                *(files[at, low], numbers[at, low], files[at, high], numbers[at, high]),
                pair["part"],
            ]
        )
    return lines


def repairs(intake: Intake, ledger: Ledger, rows: RowFinder) -> bytes:
    """Return repairs.csv: every repair that was certain and was made."""
    forgotten = ledger.rows.index[ledger.rows["state"] == RowState.FORGOTTEN.value]
    made = intake.repairs[~intake.repairs["row_id"].isin(forgotten)]
    ids = made["row_id"].to_numpy(dtype=np.int64)
    table = pd.DataFrame(
        {
            "file": rows.files(ids),
            "row": rows.numbers(ids),
            "column": made["column"].to_numpy(),
            "repair": [in_words(REPAIR_TEXTS[code]) for code in made["code"]],
            "key": rows.own_keys(ids),
        }
    ).sort_values(["file", "row", "column"], kind="stable")
    return table.to_csv(index=False, lineterminator="\r\n").encode("utf-8-sig")
