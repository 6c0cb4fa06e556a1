"""The folder that a new town starts with, where it cannot be written."""

from __future__ import annotations

from pathlib import Path

import pytest

from eaveline.errors import InputError
from eaveline.group.answers import town_of
from eaveline.group.start import start_town, town_files

TOWN = town_of(
    {
        "name": "Little Ottersley",
        "nation": "England",
        "centre": "TG 502 402",
        "group": "Little Ottersley Swift Group",
        "email": "birds@little-ottersley.example",
    }
)


@pytest.mark.parametrize("there", [True, False])
def test_a_disc_that_fills_up_leaves_nothing_and_start_can_be_typed_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, *, there: bool
) -> None:
    folder = tmp_path / "town"
    if there:
        folder.mkdir()
    written = []
    write_bytes = Path.write_bytes

    def fill_up(path: Path, data: bytes) -> int:
        written.append(path)
        if len(written) > 5:
            raise OSError(28, "No space left on device")
        return write_bytes(path, data)

    with monkeypatch.context() as patched:
        patched.setattr(Path, "write_bytes", fill_up)
        with pytest.raises(InputError, match=r"\[start-folder-not-writable\]"):
            start_town(folder, TOWN)
    assert [*tmp_path.rglob("*")] == ([folder] if there else [])
    start_town(folder, TOWN)
    names = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}
    assert names == set(town_files(TOWN))
