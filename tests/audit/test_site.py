"""The whole audit over a staged folder."""

from __future__ import annotations

import hashlib
import json
import os
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from convertbng.cutil import convert_osgb36_to_ll
from PIL import Image

from eaveline.audit.findings import audit_problems
from eaveline.audit.secrets import Secrets
from eaveline.audit.site import audit_site
from eaveline.audit.sources import Source
from leaks import LATITUDE, LONGITUDE, NOTATIONS, town_secrets

STREET = np.array([(650_333.3, 330_444.4), (650_391.7, 330_402.2), (650_480.1, 330_333.9)])


def _degrees(points: np.ndarray) -> list[list[float]]:
    lon, lat = convert_osgb36_to_ll(points[:, 0].tolist(), points[:, 1].tolist())
    return [[round(float(x), 6), round(float(y), 6)] for x, y in zip(lon, lat, strict=True)]


def _map(folder: Path) -> None:
    corners = np.array([(0, 0), (1, 0), (1, 1), (0, 1), (0, 0)]) * 100.0
    squares = [
        {
            "type": "Feature",
            "properties": {"region": f"R{i:03d}", "premises": 17},
            "geometry": {
                "type": "Polygon",
                "coordinates": [_degrees(np.add(corners, (650_000 + 100 * i, 330_200)))],
            },
        }
        for i in range(20)
    ]
    text = json.dumps({"type": "FeatureCollection", "features": squares})
    (folder / "squares.geojson").write_text(text, encoding="utf-8")
    (folder / "map-data.js").write_text(
        f"window.streets = {json.dumps([_degrees(STREET)])};", encoding="utf-8"
    )


def test_the_map_passes_with_its_public_lines(tmp_path: Path, secrets: Secrets) -> None:
    _map(tmp_path)
    result = audit_site(tmp_path, secrets, public_vertices=STREET)
    assert result.findings == ()
    assert result.files_read == 2


def test_lines_that_are_not_public_do_not_pass(tmp_path: Path, secrets: Secrets) -> None:
    _map(tmp_path)
    result = audit_site(tmp_path, secrets)
    assert {(f.file, f.rule) for f in result.findings} == {("map-data.js", "coordinate")}
    assert len(result.findings) == len(STREET)


def test_a_nest_among_the_squares_is_found_as_shape_and_as_text(
    tmp_path: Path, secrets: Secrets
) -> None:
    _map(tmp_path)
    path = tmp_path / "squares.geojson"
    document = json.loads(path.read_text(encoding="utf-8"))
    document["features"][3]["geometry"]["coordinates"][0][2] = [LONGITUDE, LATITUDE]
    path.write_text(json.dumps(document), encoding="utf-8")
    result = audit_site(tmp_path, secrets, public_vertices=STREET)
    (finding,) = result.findings
    assert finding.file == "squares.geojson"
    assert finding.digest is None
    assert finding.count == 2


def test_halves_of_a_position_far_apart_are_found(tmp_path: Path, secrets: Secrets) -> None:
    between = "<p>Swifts.</p>" * 50
    north = f"{LATITUDE:.5f}".replace(".", "&#46;")
    (tmp_path / "a.html").write_text(
        f"<p>North: {north}</p>{between}<p>East: {LONGITUDE:.5f}</p>", encoding="utf-8"
    )
    (finding,) = audit_site(tmp_path, secrets).findings
    assert (finding.rule, finding.digest) == ("coordinate", None)


def test_a_leak_is_reported_in_every_file_that_repeats_it(tmp_path: Path, secrets: Secrets) -> None:
    for name in ("a.html", "b.html"):
        (tmp_path / name).write_text("<p>fine</p>\n<p>17 Albert Road</p>", encoding="utf-8")
    findings = audit_site(tmp_path, secrets).findings
    assert [(f.file, f.where) for f in findings] == [
        ("a.html", "text, line 2"),
        ("b.html", "text, line 2"),
    ]


def test_names_of_files_and_folders_are_read(tmp_path: Path, secrets: Secrets) -> None:
    folder = tmp_path / "17-albert-road"
    folder.mkdir()
    (folder / "index.html").write_text("<p>fine</p>", encoding="utf-8")
    (finding,) = audit_site(tmp_path, secrets).findings
    assert (finding.rule, finding.where) == ("address", "file name")


def test_trusted_files_are_not_read_but_their_names_are(tmp_path: Path, secrets: Secrets) -> None:
    data = b"/* by Marguerite Threlkeld */"
    (tmp_path / "lib.js").write_bytes(data)
    (tmp_path / "amos-mill.js").write_bytes(data)
    trusted = {hashlib.sha256(data).hexdigest()}
    (finding,) = audit_site(tmp_path, secrets, trusted=trusted).findings
    assert (finding.file, finding.where) == ("amos-mill.js", "file name")


def test_the_allow_list_never_allows_a_value_of_the_register(
    tmp_path: Path, secrets: Secrets
) -> None:
    for number, secret in enumerate(NOTATIONS.values()):
        (tmp_path / f"{chr(97 + number)}.txt").write_text(secret, encoding="utf-8")
    # Whatever digest somebody might think of: of the value, of the file, of what was found.
    guesses = {hashlib.sha256(secret.encode()).hexdigest() for secret in NOTATIONS.values()}
    guesses |= {hashlib.sha256(path.read_bytes()).hexdigest() for path in tmp_path.iterdir()}
    guesses |= {str(finding.digest) for finding in audit_site(tmp_path, secrets).findings}
    allow = [SimpleNamespace(sha256=guess, reason="no reason") for guess in guesses]
    result = audit_site(tmp_path, secrets, allow=allow)
    assert {finding.file for finding in result.findings} == {p.name for p in tmp_path.iterdir()}


def test_a_new_photograph_waits_for_approval(tmp_path: Path, secrets: Secrets) -> None:
    path = tmp_path / "swift.png"
    Image.new("RGB", (200, 100), "grey").save(path)
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    (finding,) = audit_site(tmp_path, secrets).findings
    assert (finding.rule, finding.digest) == ("new-photograph", digest)
    allow = [SimpleNamespace(sha256=digest, reason="looked at by two of us")]
    assert audit_site(tmp_path, secrets, allow=allow).passed


def test_only_pages_that_people_wrote_are_read_for_streets_with_nests(
    tmp_path: Path, secrets: Secrets
) -> None:
    text = "<p>The squares Albert Road runs through hold at least 3 nests.</p>"
    for name in ("street.html", "news.html"):
        (tmp_path / name).write_text(text, encoding="utf-8")
    (finding,) = audit_site(tmp_path, secrets, content_pages={"news.html"}).findings
    assert (finding.file, finding.rule) == ("news.html", "street-and-nest")
    allow = [SimpleNamespace(sha256=finding.digest, reason="a figure for squares")]
    assert audit_site(tmp_path, secrets, allow=allow, content_pages={"news.html"}).passed


def test_what_comes_from_a_text_of_the_groups_own_is_told_once_with_its_line(
    tmp_path: Path, secrets: Secrets
) -> None:
    site, own = tmp_path / "site", tmp_path / "up.md"
    site.mkdir()
    own.write_text(
        "Title: Up\n\nThey are back.\n\nThanks to Marguerite\nThrelkeld of 17 Albert Road.\n\n"
        "Seen again: a nest\nin Albert Road.\n",
        encoding="utf-8",
    )
    for name in ("up.html", "feed.html"):
        (site / name).write_text(
            "<p>Thanks to Marguerite Threlkeld of 17 Albert Road.</p>"
            "<p>Seen again: a nest in Albert Road.</p>",
            encoding="utf-8",
        )
    (site / "other.html").write_text("<p>24 Albert Road</p>", encoding="utf-8")
    result = audit_site(
        site,
        secrets,
        content_pages={"up.html"},
        sources={"up.html": Source("content/news/up.md", own)},
    )
    problems = audit_problems(result)
    assert {(problem.code, problem.file, problem.row) for problem in problems} == {
        ("audit-person", "content/news/up.md", 5),
        ("audit-address", "content/news/up.md", 6),
        ("audit-street-and-nest", "content/news/up.md", 8),
        ("audit-address", "site/other.html", None),
    }
    person = next(problem for problem in problems if problem.code == "audit-person")
    assert "In the site it would stand in feed.html, text" in person.what
    assert "; up.html, text" in person.what


def test_hidden_data_cannot_be_allowed(tmp_path: Path, secrets: Secrets) -> None:
    Image.new("RGB", (64, 64)).save(tmp_path / "a.jpg", comment=b"at dusk")
    findings = {f.rule: f for f in audit_site(tmp_path, secrets).findings}
    assert findings["image-metadata"].digest is None


@pytest.mark.skipif(os.name == "nt", reason="making a link needs a right there")
def test_a_link_to_elsewhere_is_refused(tmp_path: Path, secrets: Secrets) -> None:
    (tmp_path / "a.html").symlink_to("/etc/hostname")
    (finding,) = audit_site(tmp_path, secrets).findings
    assert (finding.rule, finding.digest) == ("unreadable-file", None)


def test_the_result_is_the_same_each_time(tmp_path: Path, secrets: Secrets) -> None:
    for number, secret in enumerate(NOTATIONS.values()):
        (tmp_path / f"page-{chr(97 + number)}.html").write_text(
            f"<p>{secret}</p><p>TG 5121 3165</p>", encoding="utf-8"
        )
    assert audit_site(tmp_path, secrets) == audit_site(tmp_path, secrets)


def test_the_register_itself_is_only_read(tmp_path: Path) -> None:
    secrets = town_secrets()
    before = secrets.easting_m.copy(), secrets.northing_m.copy(), secrets.people
    (tmp_path / "a.txt").write_text("650112 330237 Amos Mill", encoding="utf-8")
    audit_site(tmp_path, secrets)
    assert np.array_equal(secrets.easting_m, before[0])
    assert np.array_equal(secrets.northing_m, before[1])
    assert secrets.people == before[2]
