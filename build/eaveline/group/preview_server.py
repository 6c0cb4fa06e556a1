"""Serves a site to this computer alone, with a note of what is wrong on every page."""

from __future__ import annotations

import json
import sys
import threading
from dataclasses import dataclass, field, replace
from functools import partial
from http import HTTPStatus
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

from eaveline.errors import InputError, Problem

HOST = "127.0.0.1"
_ASSETS = Path(__file__).parent / "assets"
_OURS = "/-preview/"
_LONGEST_WAIT_S = 20.0
_NOTE = (
    b'<link rel="stylesheet" href="/-preview/preview.css">'
    b'<script src="/-preview/preview.js" defer></script></head>'
)


@dataclass(frozen=True)
class State:
    """What the note on the page says."""

    version: int = 0
    """Goes up with every change of the note."""
    built: int = 0
    """Goes up with every new site."""
    doing: str = "building for the first time."
    problems: tuple[str, ...] = field(default=())


class Board:
    """Where the builder writes the state, and the pages wait for news of it."""

    def __init__(self) -> None:
        """Start with nothing built."""
        self._state = State()
        self._news = threading.Condition()

    @property
    def state(self) -> State:
        """The state now."""
        return self._state

    def tell(
        self, doing: str, *, problems: tuple[str, ...] | None = None, new_site: bool = False
    ) -> None:
        """Change the note; problems stay as they are if none are given."""
        with self._news:
            now = self._state
            self._state = replace(
                now,
                version=now.version + 1,
                built=now.built + new_site,
                doing=doing,
                problems=now.problems if problems is None else problems,
            )
            self._news.notify_all()

    def wait(self, after: int, *, longest_s: float = _LONGEST_WAIT_S) -> State:
        """Return the state once its version is another than `after`, or after a while."""
        with self._news:
            self._news.wait_for(lambda: self._state.version != after, longest_s)
            return self._state


class PreviewServer(ThreadingHTTPServer):
    """Serves one folder on this computer's own address."""

    daemon_threads = True
    # Else Windows lets two programs listen at the same port.
    allow_reuse_address = False

    def __init__(self, site: Path, board: Board, *, port: int) -> None:
        """Listen at a port; 0 takes any that is free.

        Raises
        ------
        InputError
            If another program has the port.
        """
        self.board = board
        try:
            super().__init__((HOST, port), partial(_Handler, directory=str(site)))
        except OSError as error:
            raise InputError(
                Problem(
                    "preview-port-taken",
                    f"The preview cannot listen at port {port} ({type(error).__name__}): another "
                    "program, perhaps another preview, has it.",
                    "Stop that one, or name another with --port.",
                )
            ) from None

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Pass over a reader who left before the answer: every page waits, and many are left."""
        if not isinstance(sys.exception(), ConnectionError):
            super().handle_error(request, client_address)

    @property
    def address(self) -> str:
        """Where to look."""
        return f"http://{HOST}:{self.server_port}/"


class _Handler(SimpleHTTPRequestHandler):
    server: PreviewServer

    def do_GET(self) -> None:
        """Answer with the note, its script and style, or a page of the site."""
        hosts = {f"{name}:{self.server.server_port}" for name in (HOST, "localhost")}
        if self.headers.get("Host") not in hosts:
            # A page from elsewhere that has this address under its own name.
            self.send_error(HTTPStatus.FORBIDDEN)
            return
        path = urlsplit(self.path).path
        if path == f"{_OURS}state":
            self._send_state()
        elif path in (f"{_OURS}preview.js", f"{_OURS}preview.css"):
            asset = _ASSETS / path.removeprefix(_OURS)
            kind = "text/javascript" if asset.suffix == ".js" else "text/css"
            self._send(asset.read_bytes(), kind)
        elif path.endswith((".html", "/")):
            self._send_page(path)
        else:
            super().do_GET()

    def _send_state(self) -> None:
        (after,) = parse_qs(urlsplit(self.path).query).get("after", ["-1"])[:1]
        board = self.server.board
        state = board.wait(int(after) if after.isdecimal() else -1)
        self._send(json.dumps(vars(state)).encode(), "application/json")

    def _send_page(self, path: str) -> None:
        file = Path(self.translate_path(path))
        file = file / "index.html" if path.endswith("/") else file
        status = HTTPStatus.OK
        try:
            page = file.read_bytes()
        except OSError:
            status = HTTPStatus.NOT_FOUND
            page = b"<!DOCTYPE html><title>Preview</title><head></head><body>Nothing here yet."
        self._send(page.replace(b"</head>", _NOTE, 1), "text/html; charset=utf-8", status)

    def _send(self, data: bytes, kind: str, status: HTTPStatus = HTTPStatus.OK) -> None:
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(data)))
        self.end_headers()
        self.wfile.write(data)

    def end_headers(self) -> None:
        """Keep nothing: the next look may be at another build."""
        self.send_header("Cache-Control", "no-store")
        super().end_headers()

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002 - the base's name
        """Say nothing in the terminal."""
