"""Finds TopoJSON written into a script or any other text.

Its arcs are small whole numbers, differences in a raster of its own, which no rule for numbers
takes for a place.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Any

from eaveline.audit.findings import Hit
from eaveline.audit.fragments import Shape
from eaveline.audit.geometry import shape_hits
from eaveline.audit.places import Places
from eaveline.audit.shapes import json_vertices
from eaveline.audit.text import BREAK

_NAMED = re.compile(r"[\"']?type[\"']?\s*:\s*[\"']Topology[\"']")
_BARE_KEY = re.compile(r"([{,]\s*)([A-Za-z_$][\w$]*)\s*:")
_LAST_COMMA = re.compile(r",(\s*[}\]])")
_MOST_TRIED = 500
"""Braces before the word that are tried as the document's first (own choice)."""
_DECODER = json.JSONDecoder()


def topology_hits(text: str, places: Places) -> list[Hit]:
    """Find the vertices of every topology in a text that are no published points.

    Parameters
    ----------
    text
        A text as `text.readings` gives it.
    places
        The judge of what is too exact.
    """
    return [
        Hit(hit.rule, hit.value, start, allowable=hit.allowable)
        for start, document in _documents(text)
        for vertices, crs in json_vertices(document)
        for hit in shape_hits(Shape(vertices, crs, "text"), places)
    ]


def _documents(text: str) -> Iterator[tuple[int, dict[str, Any]]]:
    """Yield each topology with its offset, whether it is JSON or a script's own notation."""
    for named in _NAMED.finditer(text):
        start = max(text.rfind(BREAK, 0, named.start()), 0)
        brace = named.start()
        for _ in range(_MOST_TRIED):
            brace = text.rfind("{", start, brace)
            if brace < 0:
                break
            document = _read(text, brace)
            if document is not None and document.get("type") == "Topology":
                yield brace, document
                break


def _read(text: str, brace: int) -> dict[str, Any] | None:
    """Return the object that begins at a brace, or None."""
    try:
        found, _ = _DECODER.raw_decode(text, brace)
    except ValueError:
        body = _balanced(text, brace)
        body = _LAST_COMMA.sub(r"\1", _BARE_KEY.sub(r'\1"\2":', body.replace("'", '"')))
        try:
            found = json.loads(body)
        except ValueError:
            return None
    return found if isinstance(found, dict) else None


def _balanced(text: str, brace: int) -> str:
    """Return the text from a brace to the one that closes it, or to the end."""
    deep = 0
    for match in re.compile(r"[{}]").finditer(text, brace):
        deep += 1 if match[0] == "{" else -1
        if deep == 0:
            return text[brace : match.end()]
    return text[brace:]
