"""The preview, looked at as a browser does."""

from __future__ import annotations

import datetime as dt
import json
import re
import shutil
import socket
import struct
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from eaveline.errors import InputError
from eaveline.group.preview import preview_town
from eaveline.group.preview_server import Board, PreviewServer
from small_town import write_town

TODAY = dt.date(2026, 11, 25)


def get(address: str, host: str | None = None) -> str:
    """Return what stands at an address."""
    request = urllib.request.Request(address)  # noqa: S310 - always this computer
    if host:
        request.add_header("Host", host)
    with urllib.request.urlopen(request, timeout=30) as answer:  # noqa: S310 - as above
        return str(answer.read().decode())


def state(address: str, after: int = -1) -> dict[str, Any]:
    """Return what the note on the page says."""
    found: dict[str, Any] = json.loads(get(f"{address}-preview/state?after={after}"))
    return found


def wait_for(address: str, words: str, *, built: int) -> dict[str, Any]:
    """Return the state once it says some words of that many builds; fail after a minute."""
    end, now = time.monotonic() + 60, state(address)
    while time.monotonic() < end:
        if re.search(words, now["doing"]) and now["built"] >= built:
            return now
        now = state(address, now["version"])
    pytest.fail(f"still {now}")


@pytest.fixture(scope="module")
def town(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_town(tmp_path_factory.mktemp("preview") / "town")


@pytest.fixture(scope="module")
def address(town: Path) -> Iterator[str]:
    stop, found = threading.Event(), threading.Event()
    addresses: list[str] = []

    def ready(address: str) -> None:
        addresses.append(address)
        found.set()

    options = {"port": 0, "today": lambda: TODAY, "ready": ready, "stop": stop}
    thread = threading.Thread(target=preview_town, args=(town,), kwargs=options)
    thread.start()
    assert found.wait(30)
    yield addresses[0]
    stop.set()
    thread.join(30)
    assert not thread.is_alive()


def test_it_builds_serves_and_audits_without_touching_the_folder(address: str, town: Path) -> None:
    before = sorted(path.relative_to(town).as_posix() for path in town.rglob("*"))
    told = wait_for(address, "the audit found nothing", built=1)
    assert told["problems"] == []
    page = get(address)
    assert "Little Ottersley" in page
    assert "/-preview/preview.js" in page
    assert "preview" in get(f"{address}-preview/preview.css")
    assert "Albert Road" in get(f"{address}streets/albert-road/")
    after = sorted(path.relative_to(town).as_posix() for path in town.rglob("*"))
    assert after == before


def test_a_saved_row_shows_and_a_bad_one_is_told(address: str, town: Path) -> None:
    built = wait_for(address, "audit found nothing", built=1)["built"]
    boxes = town / "survey_data" / "boxes" / "list.csv"
    text = boxes.read_text("utf-8")
    boxes.write_text(text + "B99,Mill Lane,14,31/2/2024,,\n", encoding="utf-8")
    told = wait_for(address, "audit found nothing", built=built + 1)
    assert told["problems"][0].startswith("1 row is held back")
    boxes.write_text(text, encoding="utf-8")
    told = wait_for(address, "audit found nothing", built=built + 2)
    assert told["problems"] == []
    empty = boxes.with_name("from Bob.xlsx")
    empty.write_bytes(b"")
    told = wait_for(address, "audit found nothing", built=built + 3)
    assert told["problems"][0].startswith("boxes/from Bob.xlsx: ")
    empty.unlink()
    wait_for(address, "audit found nothing", built=built + 4)


def test_a_broken_page_is_told_and_the_last_site_stays(address: str, town: Path) -> None:
    built = wait_for(address, "audit found nothing", built=1)["built"]
    page = town / "content" / "pages" / "boxes-are-up.md"
    page.write_text("Title: Boxes are up\n\n<script>alert(1)</script>\n", encoding="utf-8")
    told = wait_for(address, "last page that could be built", built=built)
    assert "[content-forbidden-element]" in told["problems"][0]
    assert "Little Ottersley" in get(address)
    page.write_text("Title: Boxes are up\n\nAnn Poole fixed them.\n", encoding="utf-8")
    told = wait_for(address, "audit found something", built=built + 1)
    assert "[audit-person]" in told["problems"][0]
    assert "Poole" not in "".join(told["problems"])
    page.unlink()
    wait_for(address, "audit found nothing", built=built + 2)


def test_another_hosts_page_gets_nothing(address: str) -> None:
    with pytest.raises(urllib.error.HTTPError, match="403"):
        get(address, host="swifts.example")


def test_a_taken_port_has_its_own_sentence(tmp_path: Path) -> None:
    first = PreviewServer(tmp_path, Board(), port=0)
    with pytest.raises(InputError, match=r"\[preview-port-taken\]"):
        PreviewServer(tmp_path, Board(), port=first.server_port)
    first.server_close()


def test_a_reader_who_leaves_before_the_answer_is_no_fault(
    tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    # Every page waits for news of the next build, and whoever follows a link stops waiting.
    board = Board()
    server = PreviewServer(tmp_path, board, port=0)
    server.daemon_threads = False  # so that closing waits for the answer
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    with socket.create_connection(("127.0.0.1", server.server_port)) as reader:
        host = f"Host: 127.0.0.1:{server.server_port}"
        reader.sendall(f"GET /-preview/state?after=0 HTTP/1.0\r\n{host}\r\n\r\n".encode())
        time.sleep(0.3)
        # Closed without a farewell, as browsers do with what they no longer want.
        reader.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
    board.tell("built.")
    server.shutdown()
    thread.join(30)
    server.server_close()
    assert capfd.readouterr().err == ""


def test_a_folder_without_a_town_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"\[town-file-missing\]"):
        preview_town(tmp_path, port=0, today=lambda: TODAY, ready=print)
    shutil.rmtree(tmp_path)
