"""Leaflet's own files, taken from the package that carries them.

The site serves them itself, so that reading the map tells no other host. They come from the
installed package django-js-lib-leaflet when the site is built; none is kept in this project.
"""

from __future__ import annotations

import base64
import hashlib
from importlib.metadata import PackageNotFoundError, PackagePath, files

from eaveline.errors import EavelineError, Problem

PACKAGE = "django-js-lib-leaflet"
_FOLDER = "js_lib_leaflet/static/js_lib_leaflet/"
_FILES = (
    "leaflet.js",
    "leaflet.css",
    # What the style sheet names, whether or not this map shows it.
    "images/layers.png",
    "images/layers-2x.png",
    "images/marker-icon.png",
)
_PUBLISHED = {
    "leaflet.js": "20nQCchB9co0qIjJZRGuk2/Z9VM+kNiyxNV1lvTlZBo=",
    "leaflet.css": "p4NxAoJBhIIN+hmNHrzRCf9tD/miZyoHS5obTRR9BMY=",
}
"""SHA-256 of Leaflet 1.9.4, as its makers publish them for subresource integrity."""


def leaflet_files() -> dict[str, bytes]:
    """Return Leaflet's files by name: the script, the style sheet and its images.

    Raises
    ------
    EavelineError
        If the package is missing, is laid out differently, or a file is not the one that
        Leaflet's makers or the package's own records state.
    """
    try:
        listed = {path.as_posix(): path for path in files(PACKAGE) or ()}
    except PackageNotFoundError:
        listed = {}
    missing = [name for name in _FILES if _FOLDER + name not in listed]
    if missing:
        raise _unexpected(f"{', '.join(missing)} cannot be found in it")
    return {name: _read(listed[_FOLDER + name], name) for name in _FILES}


def _read(path: PackagePath, name: str) -> bytes:
    try:
        data = path.read_binary()
    except OSError as error:
        raise _unexpected(f"{name} cannot be read ({type(error).__name__})") from error
    digest = hashlib.sha256(data).digest()
    recorded = path.hash.value if path.hash and path.hash.mode == "sha256" else None
    # Wheel records are URL-safe and unpadded, integrity attributes are neither.
    if base64.urlsafe_b64encode(digest).decode().rstrip("=") != recorded:
        raise _unexpected(f"{name} has been altered since it was installed")
    if _PUBLISHED.get(name, published := base64.b64encode(digest).decode()) != published:
        raise _unexpected(f"{name} is not the one that Leaflet 1.9.4 was published with")
    return data


def _unexpected(fault: str) -> EavelineError:
    return EavelineError(
        Problem(
            code="leaflet-not-as-expected",
            what=f"The package {PACKAGE} is not as expected: {fault}.",
            next_step="Delete the folder .venv and run the command again, which installs it "
            "afresh. If that does not help, please report it.",
        )
    )
