"""Writes a drawing (SVG) anew with what draws, and with nothing that a program noted in it."""

from __future__ import annotations

import base64
import re
import xml.etree.ElementTree as ET

from eaveline.cleaning.pictures import clean_picture
from eaveline.cleaning.refusal import CannotCleanError

SVG = "http://www.w3.org/2000/svg"
XLINK = "http://www.w3.org/1999/xlink"
_XML = "http://www.w3.org/XML/1998/namespace"
_DROPPED = frozenset({f"{{{SVG}}}metadata"})
_ACTIVE = frozenset(f"{{{SVG}}}{name}" for name in ("script", "foreignObject", "handler"))
_PICTURE = re.compile(r"data:image/(jpeg|jpg|png|gif|webp);base64,([A-Za-z0-9+/=\s]+)", re.ASCII)
_ELSEWHERE = re.compile(r"(?:@import|url\(\s*['\"]?(?!#))", re.IGNORECASE)
_TYPE_OF = {"jpg": "jpeg"}


def clean_drawing(data: bytes) -> bytes:
    """Return the drawing without metadata, comments, or the notes of drawing programs.

    Titles and descriptions stay: readers of the page hear them, and the audit reads them.

    Raises
    ------
    CannotCleanError
        If it is no SVG, could run a script, or loads something from elsewhere.
    """
    if b"<!ENTITY" in data.upper().replace(b"\x00", b""):
        raise _refused("drawing-unreadable", "The drawing defines entities of its own.")
    try:
        root = ET.fromstring(data)  # noqa: S314 - without entities nothing can be expanded
    except (ET.ParseError, LookupError, ValueError):
        raise _refused("drawing-unreadable", "The drawing is no whole SVG file.") from None
    if root.tag != f"{{{SVG}}}svg":
        raise _refused("drawing-unreadable", "The file is not an SVG drawing.")
    _clean(root)
    ET.register_namespace("", SVG)
    ET.register_namespace("xlink", XLINK)
    text: bytes = ET.tostring(root, encoding="utf-8", xml_declaration=True)
    return text


def _clean(element: ET.Element) -> None:
    element.attrib = {
        name: _clean_value(name, value) for name, value in element.attrib.items() if _draws(name)
    }
    if element.tag == f"{{{SVG}}}style" and _ELSEWHERE.search(element.text or ""):
        raise _loads()
    before: ET.Element | None = None
    for child in list(element):
        if child.tag in _ACTIVE:
            raise _refused("drawing-active", "The drawing could run a script or show a page.")
        if not str(child.tag).startswith(f"{{{SVG}}}") or child.tag in _DROPPED:
            # What follows the element is its tail, and is text of the drawing.
            if before is None:
                element.text = (element.text or "") + (child.tail or "")
            else:
                before.tail = (before.tail or "") + (child.tail or "")
            element.remove(child)
            continue
        _clean(child)
        before = child


def _draws(name: str) -> bool:
    """Return whether an attribute belongs to the drawing."""
    if name.startswith("on"):
        raise _refused("drawing-active", "The drawing could run a script.")
    if name.startswith("{"):
        return name in (f"{{{XLINK}}}href", f"{{{_XML}}}space", f"{{{_XML}}}lang")
    return not name.startswith("data-")


def _clean_value(name: str, value: str) -> str:
    if name in ("href", f"{{{XLINK}}}href") and not value.startswith("#"):
        found = _PICTURE.fullmatch(value.strip())
        if found is None:
            raise _loads()
        try:
            picture = base64.b64decode(found[2], validate=False)
        except ValueError:
            raise _loads() from None
        kind = _TYPE_OF.get(found[1], found[1])
        return f"data:image/{kind};base64,{base64.b64encode(clean_picture(picture)).decode()}"
    if _ELSEWHERE.search(value):
        raise _loads()
    return value


def _loads() -> CannotCleanError:
    return _refused("drawing-loads-elsewhere", "The drawing loads something from elsewhere.")


def _refused(code: str, what: str) -> CannotCleanError:
    return CannotCleanError(
        code, what, "Save it as a plain SVG without links or scripts, or as PNG."
    )
