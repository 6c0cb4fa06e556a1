"""What a group is told of the settings of its town."""

from __future__ import annotations

import pytest

from eaveline.config import Table, tables_of
from eaveline.group.settings_guide import settings_guide


@pytest.mark.parametrize("table", list(tables_of()), ids=lambda table: table.path or "top")
def test_every_setting_is_explained(table: Table) -> None:
    fields = table.model.model_fields
    assert [name for name, field in fields.items() if not field.description] == []


def test_the_guide_gives_each_part_as_it_is_typed_with_its_defaults() -> None:
    guide = settings_guide()
    for heading in ("`[town]`", "`[privacy]`", "`[[offers.quotas]]`", "`[[public_buildings]]`"):
        assert f"\n## {heading}\n" in guide
    assert "| `name` | *needed* | The town's name. |" in guide
    assert "| `invented` | false | True for a made-up town; every page then says so. |" in guide
    assert "| `budget_pounds` |  | Money to spend on them. |" in guide
