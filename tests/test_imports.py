"""Imports run one way, and the small commands load no more than they use."""

from __future__ import annotations

import json
import subprocess
import sys
from datetime import date
from pathlib import Path
from typing import Any

import pytest

HEAVY = {
    "textual",
    "rich",
    "sqlite_utils",
    "numpy",
    "pandas",
    "click",
    "dateutil",
    "drawsvg",
    "plotille",
    "resvg_py",
    "astral",
}


def loaded(code: str) -> set[str]:
    """Top-level packages loaded after some code ran in a process of its own."""
    return {name.split(".")[0] for name in modules(code)}


def modules(code: str) -> set[str]:
    """Modules loaded after some code ran in a process of its own."""
    script = f"{code}\nimport json, sys\nprint(json.dumps(sorted(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    return set(json.loads(done.stdout.splitlines()[-1]))


def test_layers_hold() -> None:
    code = "import sys; from importlinter.cli import lint_imports; sys.exit(lint_imports())"
    done = subprocess.run([sys.executable, "-c", code], check=False, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "1 kept, 0 broken" in done.stdout


@pytest.mark.parametrize(
    ("code", "allowed"),
    [
        ("import roundtui", set()),
        (
            "import roundtui.domain.figures.summary, roundtui.domain.round.tally, roundtui.domain.programme.rounds",
            set(),
        ),
        ("import roundtui.cli", {"click"}),
        ("import roundtui.store.figures.summary, roundtui.report.figures.summary", set()),
        ("import roundtui.store.connect, roundtui.store.record.journal, roundtui.store.record.read", set()),
    ],
)
def test_nothing_heavy_is_loaded_before_it_is_used(code: str, allowed: set[str]) -> None:
    assert loaded(code) & HEAVY <= allowed


def test_the_domain_has_no_clock_no_disk_and_no_chance() -> None:
    """Day, instants and files come in as values, so that a replayed round gives the same answer."""
    import ast

    import roundtui.domain

    forbidden = {"os", "pathlib", "random", "sqlite3", "time", "secrets", "uuid", "socket", "subprocess"}
    for path in sorted(Path(roundtui.domain.__file__).parent.rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom):
                names = [node.module or ""]
            assert not {name.split(".")[0] for name in names} & forbidden, path.name
            if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
                reads = node.value.id in {"date", "datetime"} and node.attr in {"today", "now", "utcnow"}
                assert not reads, f"{path.name}:{node.lineno} reads the clock"


def test_every_command_is_listed_with_the_module_it_is_in() -> None:
    from importlib import import_module

    from roundtui.cli import main
    from roundtui.commands import ELSEWHERE, HERE

    for module, names in ELSEWHERE.items():
        assert sorted(command.name for command in import_module(module).COMMANDS) == sorted(names), module
    there = {name for names in ELSEWHERE.values() for name in names}
    assert set(main.commands) - there == set(HERE)


def test_opening_the_app_loads_no_command() -> None:
    assert not {"click", "roundtui.cli", "roundtui.commands.season"} & modules("import roundtui.opening")
    assert "roundtui.commands.season" not in modules("import roundtui.cli")


@pytest.mark.parametrize(
    ("words", "is_plain"),
    [
        ([], True),
        (["FOLDER"], True),
        (["FOLDER", "--on", "2025-07-15", "--scout", "Ida"], True),
        (["--scout", "Ida", "FOLDER"], True),
        (["summary"], False),
        (["demo"], False),
        (["FOLDER", "--help"], False),
        (["FOLDER", "--on"], False),
        (["FOLDER", "FOLDER"], False),
        (["FOLDER/missing"], False),
        (["--on=2025-07-15", "FOLDER"], False),
    ],
)
def test_what_is_not_a_plain_opening_is_left_to_the_command_line(
    words: list[str], is_plain: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from roundtui.opening import plain_opening

    for name in ("summary", "demo"):
        (tmp_path / name).mkdir()
    monkeypatch.chdir(tmp_path)
    found = plain_opening([word.replace("FOLDER", str(tmp_path)) for word in words])
    assert (found is not None) == is_plain
    if found is not None and "--on" in words:
        assert found == (tmp_path, "2025-07-15", "Ida")


def test_the_app_touches_no_connection_and_every_screen_is_found_by_its_name() -> None:
    """What a screen needs goes through the session and functions of store and report."""
    import ast

    import roundtui.app
    from roundtui.app.screen import RoundtuiScreen, load

    for path in sorted(Path(roundtui.app.__file__).parent.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom):
                names = [node.module or ""]
            assert not set(names) & {"sqlite3", "sqlite_utils", "roundtui.store.connect"}, path.name
            if isinstance(node, ast.Attribute):
                assert node.attr not in {"conn", "execute"}, f"{path.name}:{node.lineno} touches a connection"
    for name in {path.parent.name for path in Path(roundtui.app.__file__).parent.glob("screens/*/screen.py")}:
        if name not in {"desk", "help"}:
            assert issubclass(load(name), RoundtuiScreen), name


def test_records_are_what_the_standard_library_makes_of_them_and_take_less_to_make() -> None:
    """Defaults, order of parameters, what is compared and shown, what is computed, and what is refused."""
    import copy
    import dataclasses
    import pickle

    from roundtui.domain import records

    def both(base: type, make: Any) -> Any:
        @make
        class Base(base):
            scout: str = dataclasses.field(default="", kw_only=True)

        @make
        class Row(Base):
            trap: str
            count: int = 0
            marks: list[str] = dataclasses.field(default_factory=list)
            place: str = dataclasses.field(default="", compare=False, repr=False)
            double: int = dataclasses.field(init=False)

            def __post_init__(self) -> None:
                object.__setattr__(self, "double", 2 * self.count)

        return Row

    ours = both(records.Frozen, lambda made: made)
    theirs = both(object, dataclasses.dataclass(frozen=True, slots=True))
    rows = [one("A1", 3, scout="Ida", place="hill") for one in (ours, theirs)]
    assert repr(rows[0]) == repr(rows[1])
    assert dataclasses.asdict(rows[0]) == dataclasses.asdict(rows[1])
    for one, make in zip(rows, (ours, theirs), strict=True):
        assert one == make("A1", 3, scout="Ida", place="valley") != make("A1", 4, scout="Ida")
        assert dataclasses.replace(one, count=5).double == 10
        assert copy.deepcopy(one) == one
        assert make("A1").marks is not make("A1").marks
        for wrong in (lambda: setattr(one, "count", 4), lambda: delattr(one, "count")):  # noqa: B023
            with pytest.raises(dataclasses.FrozenInstanceError):
                wrong()
        with pytest.raises(TypeError, match="missing 1 required positional argument: 'trap'"):
            make()
        with pytest.raises(TypeError):
            make("A1", 3, [], "", "Ida")

    from roundtui.domain.entries import StageSeen, TempsRead
    from roundtui.domain.units import TempUnit

    day = date(2031, 6, 3)
    seen = StageSeen(block="A", seen_on=day, code="65")
    with pytest.raises(TypeError, match="positional"):
        StageSeen("A", day, "65")  # type: ignore[misc]
    assert pickle.loads(pickle.dumps(seen)) == seen
    assert len({seen, StageSeen(block="A", seen_on=day, code="65")}) == 1
    assert seen != TempsRead(station="A", day=day, tmin="1", tmax="2", unit=TempUnit.C)
