"""Leaflet's files come from their package, or the build stops."""

from __future__ import annotations

import base64
import hashlib
import re
from pathlib import PurePosixPath

import pytest

from eaveline.errors import EavelineError, ExitCode
from eaveline.public.maps import leaflet


def test_the_script_is_the_one_that_was_published() -> None:
    # Leaflet 1.9.4's subresource integrity, as its documentation gives it.
    digest = hashlib.sha256(leaflet.leaflet_files()["leaflet.js"]).digest()
    assert base64.b64encode(digest) == b"20nQCchB9co0qIjJZRGuk2/Z9VM+kNiyxNV1lvTlZBo="


def test_every_image_the_style_sheet_names_is_there() -> None:
    files = leaflet.leaflet_files()
    named = re.findall(rb"url\(([^)#]+)\)", files["leaflet.css"])
    assert named
    assert {name.decode() for name in named} <= set(files)


def test_a_missing_package_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(leaflet, "PACKAGE", "no-such-package-of-ours")
    with pytest.raises(EavelineError) as caught:
        leaflet.leaflet_files()
    assert caught.value.problems[0].code == "leaflet-not-as-expected"
    assert "leaflet.js" in caught.value.problems[0].what
    assert caught.value.exit_code is ExitCode.OUR_FAULT


def test_another_layout_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(leaflet, "_FOLDER", "js_lib_leaflet/somewhere/else/")
    with pytest.raises(EavelineError, match="cannot be found"):
        leaflet.leaflet_files()


class _File(PurePosixPath):
    """Stands in for a file of an installed package."""

    hash = type("Hash", (), {"mode": "sha256", "value": "not-this"})()

    def read_binary(self) -> bytes:
        return b"tampered"


def test_an_altered_file_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        leaflet, "files", lambda _: [_File(leaflet._FOLDER + n) for n in leaflet._FILES]
    )
    with pytest.raises(EavelineError, match="altered"):
        leaflet.leaflet_files()


def test_another_leaflet_under_the_same_name_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    value = base64.urlsafe_b64encode(hashlib.sha256(b"tampered").digest()).decode().rstrip("=")
    monkeypatch.setattr(_File, "hash", type("Hash", (), {"mode": "sha256", "value": value})())
    monkeypatch.setattr(
        leaflet, "files", lambda _: [_File(leaflet._FOLDER + n) for n in leaflet._FILES]
    )
    with pytest.raises(EavelineError, match=r"published with"):
        leaflet.leaflet_files()
