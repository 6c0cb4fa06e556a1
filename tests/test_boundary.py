"""The walls between the private side and the public one."""

from __future__ import annotations

import datetime as dt
import enum
import types
import typing
from collections.abc import Iterator

import pytest
from pydantic import BaseModel, TypeAdapter, ValidationError

from eaveline.private.intake.ledger import Ledger
from eaveline.private.intake.take_in import Intake
from eaveline.private.register import Merges, Register
from eaveline.public import records
from eaveline.public.records import Cell, PublicRelease

FREE_TEXT = {"town", "name"}
"""The only fields of free text: the town's name and a public building's, both from town.toml."""


Leaf = tuple[str, object, tuple[object, ...]]


def leaves(annotation: object, path: str = "") -> Iterator[Leaf]:  # noqa: C901, PLR0912 - a case for each kind of type
    """Yield every leaf type reachable from a type, with its path and its constraints."""
    origin, arguments = typing.get_origin(annotation), typing.get_args(annotation)
    if origin is typing.Annotated:
        inner, *given = arguments
        parts = [part for one in given for part in getattr(one, "metadata", [one])]
        if inner in (str, int):
            yield path, inner, tuple(parts)
            return
        yield from leaves(inner, path)
    elif origin is typing.Literal:
        yield path, typing.Literal, arguments
    elif origin is dict:
        for part, argument in zip(("key", "value"), arguments, strict=True):
            yield from leaves(argument, f"{path}.{part}")
    elif origin in (tuple, typing.Union, types.UnionType):
        for argument in arguments:
            if argument is not Ellipsis and argument is not type(None):
                yield from leaves(argument, path)
    elif isinstance(annotation, type) and issubclass(annotation, BaseModel):
        for name, field in annotation.model_fields.items():
            whole = field.annotation
            constraints = tuple(field.metadata)
            inner_leaves = list(leaves(whole, f"{path}.{name}" if path else name))
            for at, kind, own in inner_leaves:
                yield at, kind, own or constraints
    elif isinstance(annotation, type) and hasattr(annotation, "_fields"):
        for name, hint in typing.get_type_hints(annotation, include_extras=True).items():
            yield from leaves(hint, f"{path}.{name}")
    else:
        yield path, annotation, ()


def test_no_exact_place_fits_into_a_public_record() -> None:
    found = list(leaves(PublicRelease))
    assert len(found) > 40
    for path, kind, constraints in found:
        if kind is str:
            bounded = any(getattr(c, "pattern", None) for c in constraints)
            assert bounded or path.split(".")[-1] in FREE_TEXT, f"{path} takes any text"
        elif kind is int:
            assert constraints, f"{path} takes any number"
        elif isinstance(kind, type):
            assert issubclass(kind, (bool, dt.date, enum.StrEnum)), f"{path} is a {kind}"
        else:
            assert kind is typing.Literal, f"{path} is a {kind}"


def test_there_is_no_float_to_hide_a_coordinate_in() -> None:
    assert float not in {kind for _, kind, _ in leaves(PublicRelease)}


@pytest.mark.parametrize("pair", [(650_123, 330_456), (6_501_234, 1), (-1, 5), (1.5, 2)])
def test_an_easting_cannot_pose_as_a_cell(pair: tuple[float, float]) -> None:
    with pytest.raises(ValidationError):
        TypeAdapter(Cell).validate_python(pair)


def test_unknown_fields_are_refused() -> None:
    with pytest.raises(ValidationError):
        records.Region.model_validate(
            {"id": "R001", "cells": [], "premises": 10, "streets": [], "notes": "12 Elm Row"}
        )


def test_public_records_are_frozen() -> None:
    region = records.Region(id="R001", cells=(Cell(1, 2),), premises=10, streets=())
    with pytest.raises(ValidationError):
        region.premises = 9


@pytest.mark.parametrize("kind", [Intake, Ledger, Register, Merges])
def test_private_tables_show_no_cells(kind: type) -> None:
    # The generated text of a dataclass would show every cell of its tables.
    assert "__repr__" in vars(kind)
    assert "counts only" in (kind.__repr__.__doc__ or "") or "number of rows" in (
        kind.__repr__.__doc__ or ""
    )
