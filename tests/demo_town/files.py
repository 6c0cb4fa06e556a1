"""All files of the demo town, by name below survey_data/."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from demo_town import planning
from demo_town.encode import encoded
from demo_town.geography import town
from demo_town.maps import map_files
from demo_town.truth import all_sheets


@cache
def demo_files() -> Mapping[str, bytes]:
    """Return every generated file and its bytes; town.toml is written by hand."""
    files = map_files(town())
    files |= {sheet.name: encoded(sheet) for sheet in all_sheets()}
    files[planning.NAME] = planning.planning_file()
    return MappingProxyType(dict(sorted(files.items())))
