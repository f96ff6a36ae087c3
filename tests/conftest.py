"""What tests share: a clock that stands still, folders of set-up files, and no home directory."""

from __future__ import annotations

import atexit
import fcntl
import gc
import json
import os
import shutil
import sqlite3
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import UTC, date, datetime
from functools import cache
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

import pytest

if TYPE_CHECKING:
    from roundtui.store.demo import Demo
    from tests.hub import Hub, Server

# Compiled once and kept, whatever the environment says: else each run, and each process it starts, compiles everything.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

FEW_EXAMPLES = 30
"""Examples of a property up to which they are the same in every run."""
EXAMPLES = int(os.environ.get("ROUNDTUI_EXAMPLES", "30"))
"""Examples of a property that names no number of its own; a long run sets more."""
NOW = datetime(2026, 5, 20, 16, 30, tzinfo=UTC)
"""The instant at which tests take place."""

FARMS = "farm,name,grower,phone\nHF,Hollow Farm,Ada Birch,555-0101\n"
BLOCKS = "block,farm,name,crop\nN,HF,North,apple\nS,HF,South,apple\n"
LURES = "lot,species,life_days\nCM26,CM,42\nOFM26,OFM,42\n"
TRAPS = (
    "trap,block,species,style,hung_on\n"
    "A1,N,CM,delta,2026-04-20\nA2,N,CM,delta,2026-04-20\nA3,N,CM,delta,2026-04-20\nA4,S,OFM,delta,2026-04-20\n"
)
ROUTES = "route,position,trap\nhome,1,A1\nhome,2,A2\nhome,3,A3\nhome,4,A4\n"


class MakeFolder(Protocol):
    """See ``make_folder``."""

    def __call__(self, name: str = "farm", **files: str | bytes | None) -> Path: ...


def write_folder(folder: Path, **files: str | bytes | None) -> Path:
    """Write a small programme: a farm, two blocks, three CM traps and one for OFM, on one route.

    Args:
        folder: Where; made where it is missing.
        files: Content of set-up files by name without the ending (``thresholds`` and ``looks`` are TOML files) in
            place of the small programme's; None: no such file.
    """
    folder.mkdir(parents=True, exist_ok=True)
    contents: dict[str, str | bytes | None] = {
        "farms": FARMS,
        "blocks": BLOCKS,
        "lures": LURES,
        "traps": TRAPS,
        "routes": ROUTES,
        **files,
    }
    for stem, content in contents.items():
        path = folder / (f"{stem}.toml" if stem in {"thresholds", "samples"} else f"{stem}.csv")
        if isinstance(content, bytes):
            path.write_bytes(content)
        elif content is not None:
            path.write_text(content, encoding="utf-8", newline="")
        else:
            path.unlink(missing_ok=True)
    return folder


@cache
def _set_examples() -> None:
    from hypothesis import HealthCheck, settings
    from hypothesis.internal.conjecture import providers

    # It would read every module that happens to be loaded for constants to try: four seconds of a worker after each
    # change of the code, and other examples for a test that runs alone.
    providers._get_local_constants = lambda: providers._local_constants  # type: ignore[attr-defined]
    drawn_alike = EXAMPLES <= FEW_EXAMPLES
    too_slow = [HealthCheck.too_slow]
    settings.register_profile(
        "roundtui",
        settings(deadline=None, max_examples=EXAMPLES, derandomize=drawn_alike, suppress_health_check=too_slow),
    )
    settings.load_profile("roundtui")


def pytest_pycollect_makemodule(module_path: Path) -> None:
    """Set examples, and no time limit, which a loaded machine would miss; load hypothesis only where it is used."""
    # A module may also come by it through another one, and must not run with the library's own limits then.
    if "hypothesis" in sys.modules or b"hypothesis" in module_path.read_bytes():
        _set_examples()


# No sweep for garbage while tests are collected, and few afterwards: they took a twentieth of a run.
gc.disable()


def pytest_collection_finish() -> None:
    """Leave what is loaded by now out of every later sweep for garbage."""
    gc.freeze()
    gc.set_threshold(100_000, 50, 100)
    gc.enable()


def pytest_unconfigure() -> None:
    """Sweep once; the five sweeps that follow find nothing left to look at."""
    gc.collect()
    gc.freeze()


MADE = Path(tempfile.gettempdir()) / f"roundtui-tests-{os.environ.get('PYTEST_XDIST_TESTRUNUID', os.getpid())}"
"""What the workers of one run share."""


@atexit.register
def _clear() -> None:
    """Take it away after a script, which has no session that ends."""
    if MADE.name.endswith(f"-{os.getpid()}"):
        shutil.rmtree(MADE, ignore_errors=True)


def made_once(name: str, make: Callable[[Path], object]) -> Path:
    """A folder that the workers of a run share: to be copied, and never changed.

    Args:
        name: Its name.
        make: Makes it, for whoever comes first.
    """
    folder, done = MADE / name, MADE / f"{name}.done"
    MADE.mkdir(exist_ok=True)
    with (MADE / f"{name}.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not done.exists():
            make(folder)
            done.touch()
    return folder


def _make_demo(folder: Path) -> None:
    from roundtui.store.connect import open_store
    from roundtui.store.demo import prepare_demo
    from roundtui.store.figures.learned import renew
    from roundtui.store.office import read_office

    made = prepare_demo(folder / "farm")
    (folder / "demo.json").write_text(json.dumps([made.on.isoformat(), made.scout, made.entries]))
    with closing(open_store(made.folder, now=NOW)) as conn:
        renew(conn, read_office(made.folder))


def ready_demo(to: Path) -> Demo:
    """The sample farm as it is once it was opened, what its rounds taught kept; made once for all workers and copied.

    Args:
        to: Folder to make.
    """
    from roundtui.store.demo import Demo

    made = made_once("demo", _make_demo)
    on, scout, entries = json.loads((made / "demo.json").read_text())
    shutil.copytree(made / "farm", to, dirs_exist_ok=True)
    return Demo(to, date.fromisoformat(on), scout, entries)


@pytest.fixture(scope="session")
def homes(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Names for one home after the other."""
    folder = tmp_path_factory.mktemp("homes")
    return (folder / str(number) for number in count())


@pytest.fixture(autouse=True)
def no_home(homes: Iterator[Path], monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give every test, and every process it starts, an empty home."""
    home = next(homes)
    home.mkdir()
    for name in ("HOME", "USERPROFILE"):
        monkeypatch.setenv(name, str(home))
    monkeypatch.setenv("XDG_STATE_HOME", str(home / "state"))
    return home


@pytest.fixture(autouse=True, scope="session")
def small_pictures() -> Iterator[None]:
    """Pictures in pixels are made small and without their words: most tests make many and look at none."""
    import resvg_py

    def small(*, zoom: int, **how: Any) -> bytes:
        return bytes(resvg_py.resvg_py.svg_to_bytes(width=40, skip_system_fonts=True, **how))

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(resvg_py, "svg_to_bytes", small)
        yield


@pytest.fixture(autouse=True, scope="session")
def schema_copied() -> Iterator[None]:
    """A new store gets a copy of the first one's empty tables: making them is half of what most tests would do."""
    from roundtui.store import db
    from roundtui.store.checks import verify
    from roundtui.store.exchange import importing

    make, version, empty = db.migrate, db.SCHEMA_VERSION, sqlite3.connect(":memory:", isolation_level=None)
    make(empty)

    def copy(conn: sqlite3.Connection) -> None:
        begun = conn.in_transaction or conn.execute("SELECT 1 FROM sqlite_master").fetchone()
        if begun or version != db.SCHEMA_VERSION:
            make(conn)
        else:
            empty.backup(conn)

    with closing(empty), pytest.MonkeyPatch.context() as patch:
        for module in (db, verify, importing):
            patch.setattr(module, "migrate", copy)
        yield


@pytest.fixture(autouse=True, scope="session")
def templates_kept() -> Iterator[None]:
    """A template is compiled once for all letters of a width, not for each folder again."""
    import jinja2

    make = jinja2.Environment.compile
    kept: dict[tuple[object, ...], Any] = {}

    def compiled(environment: jinja2.Environment, source: Any, *names: Any, **how: Any) -> Any:
        hanging = environment.filters.get("hanging")
        width = hanging.__closure__[0].cell_contents if hanging is not None else None
        key = (source, *names, tuple(how.items()), environment.autoescape, environment.trim_blocks, width)
        if how or key not in kept:
            return kept.setdefault(key, make(environment, source, *names, **how))
        return kept[key]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(jinja2.Environment, "compile", compiled)
        yield


@pytest.fixture
def whole_pictures(monkeypatch: pytest.MonkeyPatch) -> None:
    """Pictures in pixels as people get them."""
    import resvg_py

    monkeypatch.setattr(resvg_py, "svg_to_bytes", resvg_py.resvg_py.svg_to_bytes)


@pytest.fixture
def now() -> datetime:
    """The instant at which tests take place."""
    return NOW


@pytest.fixture
def make_folder(tmp_path: Path) -> MakeFolder:
    """A function that writes a scouting folder; see ``write_folder``."""

    def make(name: str = "farm", **files: str | bytes | None) -> Path:
        return write_folder(tmp_path / name, **files)

    return make


@pytest.fixture
def folder(make_folder: MakeFolder) -> Path:
    """The small programme, not loaded yet."""
    return make_folder()


@pytest.fixture(scope="session")
def loaded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small programme, loaded; to be copied and never changed."""
    from roundtui.store.folder import open_folder

    folder = write_folder(tmp_path_factory.mktemp("loaded") / "farm")
    open_folder(folder, now=NOW).conn.close()
    return folder


@pytest.fixture
def store(folder: Path, loaded: Path, now: datetime) -> Iterator[sqlite3.Connection]:
    """Store of the small programme, loaded; a copy of the one made for all, where the folder holds the same files."""
    from roundtui.store.folder import open_folder

    written = {path.name: path.read_bytes() for path in loaded.glob("*.csv")}
    if now == NOW and {path.name: path.read_bytes() for path in folder.iterdir()} == written:
        shutil.copytree(loaded, folder, dirs_exist_ok=True)
    with closing(open_folder(folder, now=now).conn) as conn:
        yield conn


@pytest.fixture(scope="session")
def postgresql(tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest) -> Iterator[Server]:
    """A real PostgreSQL, the same for all processes of the run."""
    from tests.hub import shared_server

    base = tmp_path_factory.getbasetemp()
    with shared_server(base.parent if hasattr(request.config, "workerinput") else base) as server:
        yield server


@pytest.fixture
def hub(postgresql: Server, no_home: Path, monkeypatch: pytest.MonkeyPatch) -> Hub:
    """An empty hub; whoever is enrolled on it is given a service that leads there."""
    monkeypatch.setenv("PGSERVICEFILE", str(no_home / "services.conf"))
    return postgresql.hub(no_home)


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Where the environment asks for it, a test that was skipped is a test that failed."""
    if not hasattr(session.config, "workerinput"):
        shutil.rmtree(MADE, ignore_errors=True)
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    if reporter is None or not os.environ.get("ROUNDTUI_NO_SKIPS"):
        return
    skipped = reporter.stats.get("skipped", [])
    for report in skipped:
        reporter.write_line(f"skipped, and that counts as failed here: {report.nodeid}: {report.longrepr[-1]}")
    if skipped:
        session.exitstatus = pytest.ExitCode.TESTS_FAILED
