"""A cleaned drawing draws the same and tells nothing."""

from __future__ import annotations

import base64
import io

import pytest
from PIL import Image

from eaveline.cleaning.drawings import clean_drawing
from eaveline.cleaning.refusal import CannotCleanError

HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
    'xmlns:tool="http://tool.example/ns" tool:export="C:/ann/21 Albert Road.png" '
    'data-by="Ann Poole" viewBox="0 0 9 9">'
)


def drawing(inside: str) -> bytes:
    return f"<?xml version='1.0'?><!-- Ann Poole -->{HEAD}{inside}</svg>".encode()


def test_notes_go_and_the_drawing_stays() -> None:
    after = clean_drawing(
        drawing(
            "<metadata><a>Ann Poole</a></metadata><tool:view name='Ann Poole'/>"
            "<title>A swift</title><text x='1'>Up<!-- Ann Poole --> high</text>"
            "<path d='M0 0L9 9' tool:label='Ann Poole' style='fill:url(#paint)'/>"
        )
    ).decode()
    assert "Ann" not in after
    assert "Albert" not in after
    assert "tool" not in after
    assert '<path d="M0 0L9 9" style="fill:url(#paint)" />' in after
    assert "<title>A swift</title>" in after
    assert ">Up high</text>" in after


def test_a_photograph_within_a_drawing_is_cleaned_too() -> None:
    exif = Image.Exif()
    exif[0x010E] = "21 Albert Road"
    out = io.BytesIO()
    Image.new("RGB", (9, 9)).save(out, "JPEG", exif=exif)
    inside = base64.b64encode(out.getvalue()).decode()
    after = clean_drawing(drawing(f'<image href="data:image/jpeg;base64,{inside}"/>')).decode()
    left = base64.b64decode(after.split("base64,")[1].split('"')[0])
    assert b"Albert" in out.getvalue()
    assert b"Albert" not in left


@pytest.mark.parametrize(
    ("inside", "code"),
    [
        ("<script>x()</script>", "drawing-active"),
        ("<g onclick='x()'/>", "drawing-active"),
        ("<image href='https://elsewhere.example/a.png'/>", "drawing-loads-elsewhere"),
        ("<image href='../../private/a.png'/>", "drawing-loads-elsewhere"),
        ("<g style='fill:url(https://elsewhere.example/a)'/>", "drawing-loads-elsewhere"),
        ("<style>@import 'https://elsewhere.example/a';</style>", "drawing-loads-elsewhere"),
        ("<g>", "drawing-unreadable"),
    ],
)
def test_what_acts_or_loads_is_refused(inside: str, code: str) -> None:
    with pytest.raises(CannotCleanError) as refused:
        clean_drawing(drawing(inside))
    assert refused.value.code == code


def test_entities_are_refused_before_they_can_grow() -> None:
    with pytest.raises(CannotCleanError):
        clean_drawing(b'<!DOCTYPE svg [<!ENTITY a "aaaa">]>' + drawing("<text>&a;</text>"))
