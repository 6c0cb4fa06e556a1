"""The two commands set themselves up, say plainly what is in the way, and hand over."""

from __future__ import annotations

import ast
import errno
import json
import os
import shutil
import subprocess
import sys
import threading
import venv
from collections.abc import Callable
from pathlib import Path

import pytest

import bootstrap
import python_version

ROOT = Path(__file__).resolve().parent.parent
LOCK = f"""\
alpha==1.0 \\
    --hash=sha256:00
{bootstrap.LOCK_DIVIDER}
beta==2.0 ; python_version == '3'
"""


def own_environment(**changed: str) -> dict[str, str]:
    """Return this environment, in English, with a PATH that holds no uv."""
    folders = os.environ["PATH"].split(os.pathsep)
    path = os.pathsep.join(folder for folder in folders if not shutil.which("uv", path=folder))
    return os.environ | {"PATH": path, "LC_ALL": "C.UTF-8"} | changed


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """Return a project with a small lock and no ``.venv``."""
    (tmp_path / "requirements.lock").write_text(LOCK, "utf-8")
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    return tmp_path


@pytest.fixture
def ready_project(project: Path) -> Path:
    """Return a project whose ``.venv`` is real, finished and holds two tiny commands."""
    for folder in ("build", "tests"):
        (project / folder).mkdir()
        shutil.copy(ROOT / folder / "__main__.py", project / folder)
    for name in ("bootstrap.py", "python_version.py"):
        shutil.copy(ROOT / "build" / name, project / "build")
    venv.create(project / ".venv", with_pip=False)
    python = bootstrap.python_in(project)
    ask = "import sysconfig; print(sysconfig.get_path('purelib'))"
    packages = subprocess.run([python, "-c", ask], check=True, capture_output=True, text=True)
    for module in ("eaveline", "pytest"):
        (Path(packages.stdout.strip()) / f"{module}.py").write_text(
            "import os, sys\n"
            f"print('{module}', sys.argv[1:], os.getcwd(), 'PYTHONPATH' in os.environ)\n"
            "sys.exit(7)\n",
            "utf-8",
        )
    stamp(project, "tests")
    return project


def stamp(project: Path, part: str) -> None:
    """Write what a finished set-up leaves behind."""
    ready = {"fingerprint": bootstrap.fingerprint(project), "part": part}
    (project / ".venv" / "ready.json").write_text(json.dumps(ready), "utf-8")


# ------------------------------------------------------------------------- an old Python


@pytest.mark.parametrize("version", [(2, 7, 18), (3, 6), (3, 10, 99)])
def test_old_python_is_refused_in_one_sentence(version: tuple[int, ...]) -> None:
    with pytest.raises(SystemExit) as refused:
        python_version.refuse_old_python(version)
    found = f"this is Python {version[0]}.{version[1]}."
    assert str(refused.value).startswith(f"Eaveline needs Python 3.11 or newer, and {found}")
    assert "https://www.python.org/downloads/" in str(refused.value)


@pytest.mark.parametrize("version", [(3, 11), (3, 14), (4, 0)])
def test_new_enough_python_goes_on(version: tuple[int, ...]) -> None:
    python_version.refuse_old_python(version)


@pytest.mark.parametrize(
    "file", ["build/__main__.py", "build/python_version.py", "tests/__main__.py"]
)
def test_first_files_read_on_python_2(file: str) -> None:
    later = (ast.JoinedStr, ast.AnnAssign, ast.NamedExpr, ast.Nonlocal, ast.Starred, ast.Match)
    for node in ast.walk(ast.parse((ROOT / file).read_text("utf-8"))):
        assert not isinstance(node, later), f"line {node.lineno}"
        if isinstance(node, ast.FunctionDef):
            assert node.returns is None
            assert not node.args.kwonlyargs
            assert all(arg.annotation is None for arg in node.args.args)
        if isinstance(node, ast.ImportFrom):
            assert node.module != "__future__"


# ------------------------------------------------------------------------------- skipping


def test_fingerprint_follows_what_decides_an_installation(
    project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = bootstrap.fingerprint(project)
    assert bootstrap.fingerprint(project) == before

    pyproject = project / "pyproject.toml"
    text = pyproject.read_text("utf-8")
    pyproject.write_text(text.replace("line-length = 100", "line-length = 99"), "utf-8")
    assert bootstrap.fingerprint(project) == before, "a linter setting reinstalls nothing"

    marks = {before}
    pyproject.write_text(text.replace('"click>=', '"click>'), "utf-8")
    marks.add(bootstrap.fingerprint(project))
    pyproject.write_text(text.replace('"eaveline.cli:main"', '"eaveline.cli:run"'), "utf-8")
    marks.add(bootstrap.fingerprint(project))
    pyproject.write_text(text, "utf-8")
    (project / "requirements.lock").write_text(LOCK.replace("1.0", "1.1"), "utf-8")
    marks.add(bootstrap.fingerprint(project))
    (project / "requirements.lock").write_text(LOCK, "utf-8")
    monkeypatch.setattr(sys.implementation, "cache_tag", "cpython-399")
    marks.add(bootstrap.fingerprint(project))
    monkeypatch.undo()
    moved = project.parent / "moved"
    project.rename(moved)
    marks.add(bootstrap.fingerprint(moved))
    assert len(marks) == 6


@pytest.mark.parametrize(
    ("installed", "wanted", "expected"),
    [
        ("runtime", "runtime", None),
        ("tests", "tests", None),
        ("tests", "runtime", None),
        ("runtime", "tests", {"afresh": False}),
        (None, "runtime", {"afresh": True}),
        (None, "tests", {"afresh": True}),
    ],
)
def test_only_what_lacks_is_set_up(
    ready_project: Path,
    monkeypatch: pytest.MonkeyPatch,
    installed: str | None,
    wanted: bootstrap.Part,
    expected: dict[str, bool] | None,
) -> None:
    calls: list[dict[str, bool]] = []
    monkeypatch.setattr(bootstrap, "set_up", lambda *_, **options: calls.append(options))
    if installed:
        stamp(ready_project, installed)
    else:
        bootstrap._stamp(ready_project).unlink()
    bootstrap.prepare(ready_project, wanted)
    assert calls == ([expected] if expected else [])


@pytest.mark.parametrize("content", ["", "{", "[]", "{}", '{"fingerprint": "of another"}'])
def test_damaged_or_stale_stamp_counts_as_none(ready_project: Path, content: str) -> None:
    mark = bootstrap.fingerprint(ready_project)
    assert bootstrap.ready_part(ready_project, mark) == "tests"
    bootstrap._stamp(ready_project).write_text(content, "utf-8")
    assert bootstrap.ready_part(ready_project, mark) is None


def test_venv_without_its_python_is_made_again(ready_project: Path) -> None:
    bootstrap.python_in(ready_project).unlink()
    mark = bootstrap.fingerprint(ready_project)
    assert bootstrap.ready_part(ready_project, mark) is None


# --------------------------------------------------------------------------- installing


@pytest.fixture
def steps(monkeypatch: pytest.MonkeyPatch) -> list[list[str]]:
    """Return the commands a set-up runs, which are noted in place of being run."""
    noted: list[list[str]] = []
    monkeypatch.setattr(bootstrap, "_run", lambda words, *_: noted.append(list(words)))
    return noted


@pytest.mark.parametrize("uv", [None, "/opt/uv"])
def test_set_up_installs_locked_packages_then_the_project(
    project: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    steps: list[list[str]],
    uv: str | None,
) -> None:
    monkeypatch.setattr(shutil, "which", lambda _: uv)
    leftover = project / ".venv" / "lib" / "leftover.py"
    leftover.parent.mkdir(parents=True)
    leftover.touch()
    bootstrap.set_up(project, "runtime", "mark", afresh=True)

    made, packages, own = steps
    assert made[1:3] == ["-m", "venv"]
    assert ("--without-pip" in made) == bool(uv)
    assert packages[0] == (uv or str(bootstrap.python_in(project)))
    assert "--require-hashes" in packages
    assert ("--compile-bytecode" in packages) == bool(uv)
    assert own[-2:] == ["--editable", str(project)]
    assert "--no-build-isolation" in own
    assert not leftover.exists()
    assert "beta" not in (project / ".venv" / "requirements.txt").read_text("utf-8")
    assert json.loads(bootstrap._stamp(project).read_text("utf-8")) == {
        "fingerprint": "mark",
        "part": "runtime",
    }
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith("Setting up, once: about ")
    assert "fetching 1 packages" in said.err


def test_tests_part_is_added_to_a_finished_runtime(
    project: Path, capsys: pytest.CaptureFixture[str], steps: list[list[str]]
) -> None:
    kept = project / ".venv" / "kept"
    kept.parent.mkdir()
    kept.touch()
    bootstrap.set_up(project, "tests", "mark", afresh=False)
    assert kept.exists()
    assert [words for words in steps if "venv" in words] == []
    assert (project / ".venv" / "requirements.txt").read_text("utf-8") == LOCK
    assert "fetching 1 packages" in capsys.readouterr().err


@pytest.mark.parametrize("afresh", [True, False])
def test_stopped_set_up_is_redone(
    project: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    *,
    afresh: bool,
) -> None:
    if not afresh:
        bootstrap.python_in(project).parent.mkdir(parents=True)
        bootstrap.python_in(project).touch()
        stamp(project, "runtime")

    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(bootstrap, "_run", stopped)
    assert bootstrap.start("tests", [], root=project) == 130
    assert capsys.readouterr().err.endswith(f"{bootstrap.STOPPED}\n")
    assert bootstrap.ready_part(project, bootstrap.fingerprint(project)) is None


@pytest.mark.skipif(sys.platform == "win32", reason="Windows cannot lock a folder")
def test_a_second_command_waits_for_the_first_and_finds_the_work_done(
    project: Path, capsys: pytest.CaptureFixture[str], steps: list[list[str]]
) -> None:
    import fcntl  # noqa: PLC0415 - not on Windows

    folder = os.open(project, os.O_RDONLY)
    fcntl.flock(folder, fcntl.LOCK_EX)
    second = threading.Thread(target=bootstrap.prepare, args=(project, "runtime"))
    second.start()
    second.join(0.5)
    assert second.is_alive()
    assert "waiting for it" in capsys.readouterr().err
    bootstrap.python_in(project).parent.mkdir(parents=True)
    bootstrap.python_in(project).touch()
    stamp(project, "runtime")
    os.close(folder)
    second.join(10)
    assert not second.is_alive()
    assert steps == []


# ------------------------------------------------------------------- what is in the way

# As pip 23-25 and uv 0.5-0.13 print it, shortened.
OUTPUTS = [
    (
        (
            "WARNING: Retrying (Retry(total=0)) after connection broken by 'NewConnectionError(': "
            "Failed to establish a new connection: [Errno -3] Temporary failure in name "
            "resolution')'\n"
            "ERROR: No matching distribution found for astral==3.2"
        ),
        bootstrap.NO_NETWORK,
    ),
    (
        (
            "error: Failed to fetch: `https://pypi.org/simple/astral/`\n"
            "  Caused by: dns error: failed to lookup address information"
        ),
        bootstrap.NO_NETWORK,
    ),
    ("pip._vendor.urllib3.exceptions.ReadTimeoutError: Read timed out.", bootstrap.NO_NETWORK),
    ("ERROR: Could not install: [Errno 28] No space left on device", bootstrap.DISC_FULL),
    (
        "failed to copy file to .venv/lib/x.so: No space left on device (os error 28)",
        bootstrap.DISC_FULL,
    ),
    ("There is not enough space on the disk. (os error 112)", bootstrap.DISC_FULL),
    (
        "ERROR: THESE PACKAGES DO NOT MATCH THE HASHES FROM THE REQUIREMENTS FILE.",
        bootstrap.CHANGED_PACKAGE,
    ),
    ("error: Hash mismatch for `astral==3.2`", bootstrap.CHANGED_PACKAGE),
    ("ERROR: No matching distribution found for shapely==2.2.0", bootstrap.NO_PACKAGE),
    (
        (
            "x No solution found when resolving dependencies:\n"
            "  because shapely==2.2.0 has no wheels with a matching Python ABI tag"
        ),
        bootstrap.NO_PACKAGE,
    ),
    ("PermissionError: [Errno 13] Permission denied: '.venv/lib'", bootstrap.NO_WRITING),
    (
        "The virtual environment was not created successfully because ensurepip is not available.",
        bootstrap.NO_VENV,
    ),
]


@pytest.mark.parametrize(("output", "sentence"), OUTPUTS)
def test_installer_failures_become_one_sentence(output: str, sentence: str) -> None:
    assert bootstrap.explain(output) == sentence


def test_unknown_failure_shows_its_last_lines() -> None:
    output = "".join(f"line {number}\n" for number in range(20))
    explained = bootstrap.explain(output).splitlines()
    assert explained == [*(f"line {number}" for number in range(12, 20)), bootstrap.UNKNOWN]


def test_failed_step_is_logged_and_explained(project: Path) -> None:
    script = "import sys; print('No space left on device'); sys.exit(1)"
    log = project / "setup.log"
    with log.open("w", encoding="utf-8") as file, pytest.raises(bootstrap.SetUpError) as failed:
        bootstrap._run([sys.executable, "-c", script], project, file)
    assert str(failed.value) == bootstrap.DISC_FULL
    assert "No space left on device" in log.read_text("utf-8")


def no_ensurepip(name: str) -> object | None:
    """Find every module but the one Debian leaves out."""
    return None if name == "ensurepip" else name


def raising(error: BaseException) -> Callable[..., None]:
    """Return a function that raises ``error`` whatever it is given."""

    def raise_it(*_: object, **__: object) -> None:
        raise error

    return raise_it


@pytest.mark.parametrize(
    ("number", "sentence"),
    [
        (errno.EACCES, bootstrap.NO_WRITING),
        (errno.EROFS, bootstrap.NO_WRITING),
        (errno.ENOSPC, bootstrap.DISC_FULL),
        (errno.ENOTEMPTY, bootstrap.UNUSABLE),
    ],
)
def test_file_system_failures_become_one_sentence(
    project: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    number: int,
    sentence: str,
) -> None:
    monkeypatch.setattr(bootstrap, "_empty", raising(OSError(number, os.strerror(number))))
    assert bootstrap.start("runtime", [], root=project) == 2
    assert capsys.readouterr().err == f"{sentence}\n"


def test_python_without_venv_is_one_sentence(
    project: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("importlib.util.find_spec", no_ensurepip)
    monkeypatch.setattr(shutil, "which", lambda _: None)
    assert bootstrap.start("runtime", [], root=project) == 2
    assert capsys.readouterr().err == f"{bootstrap.NO_VENV}\n"
    assert not (project / ".venv").exists()


@pytest.mark.parametrize("name", ["pyproject.toml", "requirements.lock"])
def test_missing_file_is_one_sentence(
    project: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    (project / name).unlink()
    assert bootstrap.start("runtime", [], root=project) == 2
    assert capsys.readouterr().err == f"{bootstrap.NO_LOCK.format(name=name)}\n"


def test_every_sentence_says_what_to_do_next() -> None:
    sentences = {sentence for _, sentence in bootstrap._SIGNS} | {
        bootstrap.NO_LOCK,
        bootstrap.UNUSABLE,
        bootstrap.UNKNOWN,
        bootstrap.STOPPED,
    }
    for sentence in sentences - {bootstrap.NO_PACKAGE, bootstrap.CHANGED_PACKAGE}:
        assert "start again" in sentence.lower(), sentence
    assert "Try Python" in bootstrap.NO_PACKAGE
    assert "Start again" in bootstrap.CHANGED_PACKAGE


# ---------------------------------------------------------------------------- handing over


@pytest.mark.parametrize(("folder", "module"), [("build", "eaveline"), ("tests", "pytest")])
def test_arguments_and_exit_code_pass_through(
    ready_project: Path, tmp_path_factory: pytest.TempPathFactory, folder: str, module: str
) -> None:
    elsewhere = tmp_path_factory.mktemp("elsewhere")
    done = subprocess.run(
        [sys.executable, ready_project / folder, "a b", "--odd=*", ""],
        cwd=elsewhere,
        env=own_environment(PYTHONPATH=str(elsewhere)),
        capture_output=True,
        text=True,
        check=False,
    )
    # pytest takes its settings from the current folder; a town's folder is given from yours.
    where = ready_project if folder == "tests" else elsewhere
    assert done.stderr == ""
    assert done.stdout == f"{module} ['a b', '--odd=*', ''] {where} False\n"
    assert done.returncode == 7


def test_windows_waits_for_the_command(
    ready_project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    python = str(bootstrap.python_in(ready_project))
    assert bootstrap._call_and_wait([python, "-c", "raise SystemExit(5)"]) == 5
    # os.name also steers pathlib, so only the places are looked at here.
    monkeypatch.setattr(os, "name", "nt")
    assert bootstrap.python_in(ready_project).parts[-3:] == (".venv", "Scripts", "python.exe")


@pytest.mark.slow
@pytest.mark.network
def test_fresh_clone_sets_itself_up_with_pip_alone(tmp_path: Path) -> None:
    clone = tmp_path / "a clone"
    clone.mkdir()
    for name in ("build", "theme", "content"):
        shutil.copytree(ROOT / name, clone / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "requirements.lock", "README.md", "LICENSE"):
        shutil.copy(ROOT / name, clone)

    def build() -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, clone / "build", "--help"],
            env=own_environment(),
            capture_output=True,
            text=True,
            check=False,
        )

    first = build()
    if bootstrap.NO_NETWORK in first.stderr and not os.environ.get("CI"):
        pytest.skip("no network")
    assert first.returncode == 0, first.stderr
    assert "Usage" in first.stdout
    assert "Ready after" in first.stderr

    second = build()
    assert second.stderr == "", "nothing is set up twice"
    assert second.stdout == first.stdout

    # The lock is installed without looking up dependencies, so it has to be complete.
    whole = [str(bootstrap.python_in(clone)), "-m", "pip", "check"]
    assert subprocess.run(whole, check=False).returncode == 0
