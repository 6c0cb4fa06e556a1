"""content/ is copied clean, the group's own files stay as they are."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from PIL import Image

from eaveline.cleaning.content import copy_content
from eaveline.errors import InputError


def photograph() -> bytes:
    exif = Image.Exif()
    exif[0x010E] = "21 Albert Road"
    out = io.BytesIO()
    Image.new("RGB", (60, 60), "grey").save(out, "JPEG", exif=exif)
    return out.getvalue()


def written(folder: Path, files: dict[str, bytes]) -> Path:
    for name, data in files.items():
        path = folder / "content" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    return folder / "content"


def test_pictures_are_cleaned_in_the_copy_only(tmp_path: Path) -> None:
    content = written(
        tmp_path,
        {
            "pages/about.md": b"Title: About\n",
            "images/swift.JPG": photograph(),
            "images/Thumbs.db": b"small pictures",
            "images/.DS_Store": b"names",
        },
    )
    copy_content(content, tmp_path / "out")
    names = {p.relative_to(tmp_path / "out").as_posix() for p in (tmp_path / "out").rglob("*.*")}
    assert names == {"pages/about.md", "images/swift.JPG"}
    assert b"Albert" not in (tmp_path / "out/images/swift.JPG").read_bytes()
    assert (content / "images/swift.JPG").read_bytes() == photograph()


def test_everything_that_cannot_be_cleaned_is_named_at_once(tmp_path: Path) -> None:
    secret = tmp_path / "private.csv"
    secret.write_text("21 Albert Road\n")
    content = written(
        tmp_path,
        {
            "files/minutes.docx": b"PK\x03\x04",
            "files/film.mp4": b"\x00\x00\x00 ftyp",
            "images/bad.png": b"no picture",
            "files/notes.txt": b"text\x00with more",
        },
    )
    (content / "files/list.csv").symlink_to(secret)
    with pytest.raises(InputError) as refused:
        copy_content(content, tmp_path / "out")
    assert {(problem.file, problem.code) for problem in refused.value.problems} == {
        ("content/files/minutes.docx", "content-other-kind"),
        ("content/files/film.mp4", "content-other-kind"),
        ("content/files/notes.txt", "content-other-kind"),
        ("content/images/bad.png", "picture-unreadable"),
        ("content/files/list.csv", "content-link"),
    }


def test_a_town_without_content_has_an_empty_copy(tmp_path: Path) -> None:
    copy_content(tmp_path / "content", tmp_path / "out")
    assert list((tmp_path / "out").iterdir()) == []
