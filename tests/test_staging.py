"""A new site in place of the old one, or the old one as it was."""

from __future__ import annotations

from pathlib import Path

import pytest

from eaveline.errors import InputError
from eaveline.staging import staging_folder, swap_in


@pytest.fixture
def town(tmp_path: Path) -> Path:
    (tmp_path / "site").mkdir()
    (tmp_path / "site" / "index.html").write_text("old")
    return tmp_path


def new_site(folder: Path) -> Path:
    staged = folder / "site"
    staged.mkdir()
    (staged / "index.html").write_text("new")
    return staged


def test_a_new_site_stands_and_nothing_is_left_of_the_old(town: Path) -> None:
    with staging_folder(town) as folder:
        assert swap_in(new_site(folder), town / "site") == 1
    assert (town / "site" / "index.html").read_text() == "new"
    assert [path.name for path in town.iterdir()] == ["site"]


@pytest.mark.parametrize(
    ("stop", "told"), [(PermissionError(13, "in use"), InputError), (KeyboardInterrupt(), None)]
)
def test_a_swap_that_is_stopped_half_way_leaves_the_old_site(
    town: Path,
    monkeypatch: pytest.MonkeyPatch,
    stop: BaseException,
    told: type[BaseException] | None,
) -> None:
    rename = Path.rename

    def stopping(path: Path, target: Path) -> Path:
        if path.name == "site" and target == town / "site":
            raise stop
        return rename(path, target)

    monkeypatch.setattr(Path, "rename", stopping)
    with pytest.raises(told or type(stop)), staging_folder(town) as folder:
        swap_in(new_site(folder), town / "site")
    assert (town / "site" / "index.html").read_text() == "old"
    assert [path.name for path in town.iterdir()] == ["site"]
