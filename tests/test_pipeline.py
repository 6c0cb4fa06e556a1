"""The whole flow on a small town."""

from __future__ import annotations

import csv
import datetime as dt
import json
import os
import shutil
from pathlib import Path

import pytest

from eaveline import between_builds, pipeline
from eaveline.errors import InputError, SiteRefusedError
from eaveline.private.intake.ledger import RowState
from eaveline.public.records import release_from_json
from small_town import BOXES, NEST_SITES, SIGHTINGS, ordinary_records, write_records, write_town
from test_promise import digests

TODAY = dt.date(2026, 11, 25)


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a town built once; tests copy it before they change anything."""
    folder = write_town(tmp_path_factory.mktemp("built"))
    pipeline.build_town(folder, today=TODAY)
    return folder


@pytest.fixture
def town(built: Path, tmp_path: Path) -> Path:
    copy = tmp_path / "town"
    shutil.copytree(built, copy)
    return copy


def release_of(folder: Path) -> object:
    return release_from_json((folder / "site" / "data" / "release.json").read_text("utf-8"))


def test_a_build_writes_the_site_and_the_papers(built: Path) -> None:
    for name in (
        "index.html",
        "map/index.html",
        "streets/index.html",
        "streets/st-annes-terrace/index.html",
        "seasons/index.html",
        "boxes/index.html",
        "method/index.html",
        "data/index.html",
        "data/release.json",
        "data/release.schema.json",
        "data/squares.geojson",
        "data/streets.csv",
        "data/datapackage.json",
        "404.html",
        "sitemap.xml",
    ):
        assert (built / "site" / name).is_file(), name
    for name in ("rows-to-fix.csv", "merged.csv", "worth-a-look.csv", "build-report.html"):
        assert (built / "private" / "review" / name).is_file(), name
    assert (built / "survey_data" / "map" / "regions.csv").is_file()
    assert not list(built.glob(".staging*"))


def test_building_again_gives_the_same_bytes_and_keeps_modification_times(town: Path) -> None:
    site = town / "site"
    for path in site.rglob("*"):
        os.utime(path, (1_000_000_000, 1_000_000_000))
    before, papers = digests(site), digests(town / "private")
    outcome = pipeline.build_town(town, today=TODAY)
    assert digests(town / "private") == papers
    outcome = pipeline.build_town(town, today=TODAY + dt.timedelta(days=1))
    assert digests(site) == before
    assert outcome.files_changed == 0
    assert {path.stat().st_mtime for path in site.rglob("*") if path.is_file()} == {1_000_000_000}


def test_the_site_comes_again_from_the_release_alone(town: Path, tmp_path: Path) -> None:
    release = release_from_json((town / "site" / "data" / "release.json").read_text("utf-8"))
    bare = tmp_path / "bare"
    shutil.copytree(town, bare)
    for folder in ("sightings", "nest_sites", "boxes", "checks", "watches"):
        shutil.rmtree(bare / "survey_data" / folder)
    (bare / "survey_data" / "map" / "addresses.csv").unlink()
    (bare / "survey_data" / "map" / "regions.csv").unlink()
    shutil.rmtree(bare / "private")
    pipeline.site_from_release(bare, release, out=tmp_path / "again", today=TODAY)
    assert digests(tmp_path / "again") == digests(town / "site")
    with pytest.raises(InputError) as refused:
        pipeline.site_from_release(bare, release, out=tmp_path / "again", today=TODAY)
    assert refused.value.problems[0].code == "folder-exists"
    elsewhere = tmp_path / "not" / "there" / "yet"
    pipeline.site_from_release(bare, release, out=elsewhere, today=TODAY)
    assert digests(elsewhere) == digests(town / "site")
    assert [path.name for path in elsewhere.parent.iterdir()] == ["yet"]


def test_the_order_of_files_and_rows_changes_nothing(town: Path) -> None:
    before = digests(town / "site")
    records = town / "survey_data" / "sightings"
    rows = [
        line
        for path in sorted(records.glob("*.csv"))
        for line in path.read_text("utf-8").splitlines()[1:]
    ]
    shutil.rmtree(records)
    write_records(town, {"sightings/z.csv": SIGHTINGS + "\n".join(reversed(rows)) + "\n"})
    pipeline.build_town(town, today=TODAY)
    assert digests(town / "site") == before


def test_rows_to_fix_corrected_and_saved_replace_the_rows(town: Path) -> None:
    bad = "31/6/2026,21:40,TG 5005 4020,,,swift,screaming party,40,Ann Poole,\n"
    write_records(town, {"sightings/bad.csv": SIGHTINGS + bad})
    first = pipeline.build_town(town, today=TODAY)
    assert first.summary.states[RowState.HELD] == 1
    path = town / "private" / "review" / "rows-to-fix.csv"
    with path.open(encoding="utf-8-sig", newline="") as file:
        (row,) = csv.DictReader(file)
    assert (row["from_file"], row["from_row"], row["wrong_column"]) == (
        "sightings/bad.csv",
        "2",
        "date",
    )
    row["date"] = "30/6/2026"
    corrected = town / "survey_data" / "corrections" / "mine.csv"
    corrected.parent.mkdir()
    with corrected.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, fieldnames=list(row))
        writer.writeheader()
        writer.writerow(row)
    second = pipeline.build_town(town, today=TODAY)
    assert second.summary.states[RowState.HELD] == 0
    assert second.summary.states[RowState.REPLACED] == 1
    release = json.loads((town / "site" / "data" / "release.json").read_text("utf-8"))
    assert release["town_seasons"][-1]["largest_party"] == 40
    assert (town / "survey_data" / "sightings" / "bad.csv").read_text("utf-8") == SIGHTINGS + bad


def test_a_paper_somebody_edited_is_never_overwritten(town: Path) -> None:
    path = town / "private" / "review" / "rows-to-fix.csv"
    path.write_text("mine", encoding="utf-8")
    outcome = pipeline.build_town(town, today=TODAY)
    assert outcome.summary.kept == ("review/rows-to-fix - your edits 1.csv",)
    assert (town / "private" / outcome.summary.kept[0]).read_text("utf-8") == "mine"


@pytest.mark.parametrize(
    ("page", "rule"),
    [
        ("We thank Ann Poole for her work.", "person"),
        ("Come to TG 50123 40210 at dusk.", "grid-reference"),
        ("It is at 52.9001, 1.7205.", "coordinate"),
        ("Look up at 21 Albert Road.", "address"),
        ("Ring 01632 960123.", "contact"),
    ],
)
def test_the_audit_stops_a_leak_and_the_old_site_stays(town: Path, page: str, rule: str) -> None:
    before = digests(town / "site")
    (town / "content" / "pages" / "more.md").write_text(
        f"Title: More\nSlug: more\nSummary: More.\n\n{page}\n", encoding="utf-8"
    )
    with pytest.raises(SiteRefusedError) as refused:
        pipeline.build_town(town, today=TODAY)
    found = [problem for problem in refused.value.problems if rule in problem.code]
    assert [(problem.file, problem.row) for problem in found] == [("content/pages/more.md", 5)]
    message = str(refused.value)
    for value in ("Ann", "50123", "52.9", "21 Albert", "960123"):
        assert value not in message
    assert "more/index.html, text" in message
    assert digests(town / "site") == before
    assert not list(town.glob(".staging*"))


@pytest.mark.parametrize(
    ("file", "page"),
    [
        ("pages/where.md", "where/index.html"),
        ("pages/Where To Look.md", "where-to-look/index.html"),
        ("pages/guides/where.md", "where/index.html"),
        ("pages/home.md", "index.html"),
        ("news/2026-07-01-where.md", "news/2026-07-01-where/index.html"),
    ],
)
def test_a_street_beside_a_nest_is_held_up_wherever_a_person_wrote_it(
    town: Path, file: str, page: str
) -> None:
    written = town / "content" / file
    written.parent.mkdir(parents=True, exist_ok=True)
    written.write_text("Title: Where\n\nThere is a nest in Mill Lane.\n", encoding="utf-8")
    with pytest.raises(SiteRefusedError) as refused:
        pipeline.build_town(town, today=TODAY)
    found = {(problem.code, problem.file): problem.what for problem in refused.value.problems}
    assert f"{page}, " in found["audit-street-and-nest", f"content/{file}"]


def test_a_paper_that_fails_while_the_site_is_made_leaves_everything_as_it_was(
    town: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = digests(town)

    def break_down(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(pipeline, "write_papers", break_down)
    with pytest.raises(OSError, match="No space"):
        pipeline.build_town(town, today=TODAY)
    assert digests(town) == before


def test_bad_settings_stop_the_build_with_all_their_faults(town: Path) -> None:
    (town / "survey_data" / "town.toml").write_text(
        '[town]\nname = ""\nnation = "Atlantis"\ncolour = "red"\n', encoding="utf-8"
    )
    before = digests(town / "site")
    with pytest.raises(InputError) as refused:
        pipeline.build_town(town, today=TODAY)
    columns = {problem.column for problem in refused.value.problems}
    assert {"town.name", "town.nation", "town.colour", "town.centre", "town.group"} <= columns
    assert digests(town / "site") == before


def test_a_setting_in_the_wrong_part_is_sent_where_it_belongs(tmp_path: Path) -> None:
    write_town(tmp_path, ordinary_records())
    settings = tmp_path / "survey_data" / "town.toml"
    added = '[privacy]\nwatch_evenings = [2027-06-05]\nrecords_centre = "A centre"\ncolour = 1\n'
    settings.write_text(settings.read_text("utf-8") + added, encoding="utf-8")
    with pytest.raises(InputError) as refused:
        pipeline.check_town(tmp_path, today=TODAY)
    steps = {problem.column: problem.next_step for problem in refused.value.problems}
    assert steps["privacy.watch_evenings"] == "Move its line below the line [town]."
    assert "above every line in [brackets]" in steps["privacy.records_centre"]
    assert steps["privacy.colour"].startswith(
        "Known here: minimum_premises, cell_size_m, looked_hours."
    )


@pytest.mark.parametrize(
    ("line", "step"),
    [
        ("looked_hour = 2", "Known here: looked_hours."),
        ('[[audit_allow]]\nreason = "x"\nsha256 = "x"', "Write it like 0123456789abcdef"),
        ("[[offers.quotas]]\nname = 'x'\nat_lest = 1", "Known here: at_least."),
    ],
)
def test_a_wrong_setting_comes_with_a_right_one(tmp_path: Path, line: str, step: str) -> None:
    write_town(tmp_path, ordinary_records())
    settings = tmp_path / "survey_data" / "town.toml"
    settings.write_text(f"{settings.read_text('utf-8')}[privacy]\n{line}\n", encoding="utf-8")
    with pytest.raises(InputError) as refused:
        pipeline.check_town(tmp_path, today=TODAY)
    (problem,) = refused.value.problems
    assert problem.next_step.startswith(step)


def test_the_map_of_a_street_may_stand_in_a_page_of_the_groups_own(town: Path) -> None:
    page = town / "content" / "pages" / "mill-lane.md"
    page.write_text("Title: Ours\n\n{{ maps.mill-lane }}\n\n{{ maps.town }}\n", encoding="utf-8")
    pipeline.build_town(town, today=TODAY)
    drawn = (town / "site" / "mill-lane" / "index.html").read_text("utf-8")
    assert "Map of Mill Lane and the squares it runs through." in drawn


def lock(monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    """Let no file of that name be read, as where another program holds it."""
    read_bytes = Path.read_bytes

    def refuse(path: Path) -> bytes:
        if path.name == name:
            raise PermissionError(13, "Permission denied")
        return read_bytes(path)

    monkeypatch.setattr(Path, "read_bytes", refuse)


def test_a_file_of_records_that_cannot_be_opened_is_told_and_stops_nothing(
    town: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_records(town, {"sightings/locked.csv": SIGHTINGS})
    lock(monkeypatch, "locked.csv")
    pipeline.build_town(town, today=TODAY)
    report = (town / "private" / "review" / "build-report.html").read_text("utf-8")
    assert "The file cannot be opened" in report


def test_a_list_of_forgetting_that_cannot_be_opened_stops_the_build(
    town: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_records(town, {"forget.csv": "forget,which\nperson,Bob Tarn\n"})
    lock(monkeypatch, "forget.csv")
    with pytest.raises(InputError, match=r"\[forget-unreadable\]"):
        pipeline.build_town(town, today=TODAY)


def test_forgetting_a_person_leaves_nothing_of_them(town: Path) -> None:
    write_records(town, {"forget.csv": "forget,which\nperson,Bob Tarn\n"})
    outcome = pipeline.build_town(town, today=TODAY)
    assert outcome.summary.states[RowState.FORGOTTEN] > 0
    for path in (town / "private").rglob("*"):
        if path.is_file():
            assert b"Bob" not in path.read_bytes(), path.name
    release = json.loads((town / "site" / "data" / "release.json").read_text("utf-8"))
    assert [site["what"] for site in release["open_sites"]] == ["swift box"]


def test_papers_of_an_earlier_build_forget_too(town: Path) -> None:
    """An annex names exact places; once its application is decided, none is made anew."""
    planned = "reference,received,street,house,proposal,work,outcome\n26/1,1/9/2026,Albert Road,23,"
    write_records(town, {"planning/a.csv": f"{planned}Roof,roof,\n"})
    pipeline.build_town(town, today=TODAY)
    annex = town / "private" / "officer" / "26-1" / "confidential-annex.pdf"
    assert annex.exists()
    edited = town / "private" / "review" / "merged.csv"
    edited.write_text("mine", encoding="utf-8")
    forget = {"forget.csv": "forget,which\naddress,21 Albert Road\n"}
    write_records(town, {"planning/a.csv": f"{planned}Roof,roof,granted\n"} | forget)
    notices = pipeline.build_town(town, today=TODAY).summary.notices
    assert not annex.parent.exists()
    [told] = [each for each in notices if each.code == "edited-papers-may-remember"]
    assert "review/merged.csv" in told.what


@pytest.mark.parametrize("line", ["address,1 Church Street", "address,Church Street 1"])
def test_forgetting_an_address_leaves_nothing_of_it(town: Path, line: str) -> None:
    write_records(town, {"forget.csv": f"forget,which\n{line}\n"})
    outcome = pipeline.build_town(town, today=TODAY)
    assert outcome.summary.states[RowState.FORGOTTEN] == 1
    release = json.loads((town / "site" / "data" / "release.json").read_text("utf-8"))
    assert [site["what"] for site in release["open_sites"]] == ["swift box"]
    for path in (town / "site").rglob("*.*"):
        assert b"Reading Room" not in path.read_bytes(), path.name
    # Nor is the house in what the next build remembers, by its place.
    listed = (town / "survey_data" / "map" / "addresses.csv").read_text("utf-8")
    homes = csv.DictReader(listed.splitlines())
    (home,) = (h for h in homes if (h["street"], h["house"]) == ("Church Street", "1"))
    for name in ("recorded-buildings.csv", "joined-places.csv"):
        kept = (town / "private" / "remembered" / name).read_text("utf-8")
        assert f"{float(home['easting']):.2f},{float(home['northing']):.2f}" not in kept, name


@pytest.mark.parametrize("line", ["address,20 Mill Lane", 'address,"20, Mill Ln"'])
def test_an_address_is_forgotten_however_its_rows_spell_it(tmp_path: Path, line: str) -> None:
    spelt = (
        "Z1,Mill Ln,20,1/3/2024,,\nZ2,20 Mill Lane,,1/3/2024,,\nZ3,MILL LANE,No. 20,1/3/2024,,\n"
    )
    others = "Z4,Mill Lane,22,1/3/2024,,\nZ5,Mill Lane,,1/3/2024,,\n"
    files = {"boxes/z.csv": BOXES + spelt + others, "forget.csv": f"forget,which\n{line}\n"}
    write_town(tmp_path, files)
    intake, _ = pipeline.check_town(tmp_path, today=TODAY)
    assert (
        intake.ledger.rows["state"].astype(str).tolist()
        == [RowState.FORGOTTEN] * 3 + [RowState.USED] * 2
    )


def test_a_town_without_records_says_so(tmp_path: Path) -> None:
    write_town(tmp_path, {})
    with pytest.raises(InputError) as refused:
        pipeline.build_town(tmp_path, today=TODAY)
    assert [problem.code for problem in refused.value.problems] == ["nothing-to-publish"]
    assert not (tmp_path / "site").exists()


def test_a_town_whose_records_tell_only_years_is_asked_for_a_day(tmp_path: Path) -> None:
    write_town(tmp_path, {"nest_sites/a.csv": NEST_SITES + ",Mill Lane,12,,swift,2024,in use,,,\n"})
    with pytest.raises(InputError) as refused:
        pipeline.build_town(tmp_path, today=TODAY)
    assert "only years" in refused.value.problems[-1].what
    assert "rows-to-fix" not in str(refused.value)


def test_a_town_whose_first_rows_are_all_wrong_can_read_why(tmp_path: Path) -> None:
    row = "31/6/2026,21:40,TG 5005 4020,,,swift,screaming party,4,Bob Tarn,\n"
    unknown = "Box,When,Hum\nB1,3/6/2026,21:40\n"
    write_town(tmp_path, {"sightings/a.csv": SIGHTINGS + row, "boxes/b.csv": unknown})
    with pytest.raises(InputError) as refused:
        pipeline.build_town(tmp_path, today=TODAY)
    codes = [problem.code for problem in refused.value.problems]
    assert {"headings-not-found", "nothing-to-publish"} <= set(codes)
    assert "rows-to-fix.csv" in refused.value.problems[-1].next_step
    review = tmp_path / "private" / "review"
    assert "31/6/2026" in (review / "rows-to-fix.csv").read_text("utf-8-sig")
    assert list((review / "mappings").iterdir())
    assert not (tmp_path / "site").exists()


def lost_memories(folder: Path) -> list[str]:
    """Return what a check says of the files that a build leaves for the next."""
    _, found = pipeline.check_town(folder, today=TODAY)
    return [str(notice) for notice in found.notices if notice.code == "memory-lost"]


def test_a_map_without_what_earlier_builds_remember_is_told(town: Path, tmp_path: Path) -> None:
    settings = town / "survey_data" / "town.toml"
    ours = settings.read_text("utf-8").replace("invented = true\n", "")
    settings.write_text(ours, encoding="utf-8")
    first = write_town(tmp_path / "first")
    shutil.copyfile(settings, first / "survey_data" / "town.toml")
    assert lost_memories(town) == lost_memories(first) == []
    joined = town / "private" / "remembered" / "joined-places.csv"
    joined.write_text(joined.read_text("utf-8")[:-20] + "not a number\n", encoding="utf-8")
    (damaged,) = lost_memories(town)
    assert "private/remembered/joined-places.csv cannot be read" in damaged
    assert "recorded-buildings.csv" not in damaged
    shutil.rmtree(town / "private")
    (every,) = lost_memories(town)
    for name in ("recorded-buildings", "joined-places", "counted-buildings"):
        assert f"private/remembered/{name}.csv" in every
    assert "backup" in every
    pipeline.build_town(town, today=TODAY)
    assert lost_memories(town) == []


def test_checking_writes_nothing(tmp_path: Path) -> None:
    write_town(tmp_path, ordinary_records())
    before = digests(tmp_path)
    intake, _ = pipeline.check_town(tmp_path, today=TODAY)
    assert sum(intake.ledger.counts().values()) == len(intake.ledger.rows) > 0
    assert digests(tmp_path) == before


def test_the_audit_can_be_run_on_its_own(town: Path, tmp_path: Path) -> None:
    assert between_builds.audit_town(town, today=TODAY).passed
    (town / "site" / "index.html").write_text("<p>Ann Poole</p>", encoding="utf-8")
    assert not between_builds.audit_town(town, today=TODAY).passed
    write_town(tmp_path / "other")
    with pytest.raises(InputError):
        between_builds.audit_town(tmp_path / "other", today=TODAY)
