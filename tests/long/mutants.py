"""One-place changes of trade code: how many of them do the tests that concern them catch?

``python -m tests.long.mutants STATE [TOPIC ...] [--count N] [--seed S] [--minutes M]`` draws N changes (300) from the
topics of ``TABLE``, the same for the same seed. It learns once which test runs which line and how long it takes; then
it makes each change in a process of its own, where all tests are loaded already, and runs the tests that run the line
changed, the topic's own first the quick before the slow, until one fails or they have taken ``--seconds``. What it
found is kept in the folder STATE: called again it goes on where it stopped, ``--again`` runs those that survived once
more, ``--report`` prints. Those read one by one and found to change nothing that anybody could see stand in
``EQUIVALENT``, with the reason, and are drawn but not run.

The lines are those of one state of the trade code: after a change of it, begin a new folder.
"""

from __future__ import annotations

import argparse
import ast
import copy
import importlib
import json
import os
import resource
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from functools import _lru_cache_wrapper, partial
from pathlib import Path
from random import Random
from types import CodeType, FrameType, FunctionType, ModuleType
from typing import Any

import pytest

from roundtui.domain.records import Frozen, _init

ROOT = Path(__file__).resolve().parents[2]
TESTS = ("domain", "judge", "store", "report")
"""Folders whose tests are asked."""
LEFT_OUT = ("report/letters", "store/test_hub.py", "store/test_two_processes.py")
"""Tests that take long, or that start processes which would not see a change."""
MOST_SECONDS = 10
"""How long the tests of a change that none of them catches may take. [s of CPU]"""
TIME_LIMIT = 240
"""A change that makes the tests run longer than this is caught. [s]"""


@dataclass(frozen=True, slots=True)
class Topic:
    """Modules of one subject, and the tests that concern them, the quick ones first."""

    modules: tuple[str, ...]
    tests: tuple[str, ...]


FIGURES = ("domain/test_figures", "domain/test_figure_stories", "domain/test_exposure", "judge/test_figures_property")
TABLE: Mapping[str, Topic] = {
    "figures": Topic(("roundtui.domain.figures.figures",), FIGURES),
    "exposure": Topic(("roundtui.domain.figures.figures",), (*FIGURES, "domain/test_estimates")),
    "threshold": Topic(("roundtui.domain.figures.threshold",), ("domain/test_choosing", "domain/test_rules", *FIGURES)),
    "blocks": Topic(("roundtui.domain.figures.blocks",), (*FIGURES, "domain/test_choosing", "domain/test_rules")),
    "integrity": Topic(
        ("roundtui.domain.figures.integrity",), ("domain/test_integrity", "judge/test_integrity_property")
    ),
    "tally": Topic(("roundtui.domain.round.tally",), ("domain/test_tally", "domain/test_checks", "store/test_enter")),
    "degree-days": Topic(
        ("roundtui.domain.season.degree_days",), ("domain/test_degree_days", "domain/test_published_degree_days")
    ),
    "biofix": Topic(("roundtui.domain.season.biofix",), ("domain/test_biofix", "domain/test_season")),
    "outlook": Topic(("roundtui.domain.season.outlook",), ("domain/test_outlook", "domain/test_season")),
    "upkeep": Topic(("roundtui.domain.figures.upkeep",), ("domain/test_upkeep",)),
    "disclosure": Topic(("roundtui.domain.publication",), ("domain/test_disclosure", "judge/test_disclosure")),
    "unlikely": Topic(("roundtui.domain.figures.unlikely",), ("domain/test_unlikely",)),
    "watch": Topic(
        ("roundtui.domain.figures.treatments",),
        ("domain/test_watch", "domain/test_untreated", "judge/test_watch_property"),
    ),
    "journal": Topic(
        ("roundtui.store.record.journal",), ("store/test_journal", "store/test_corrections", "store/test_digests")
    ),
    "merge": Topic(
        ("roundtui.store.exchange.merge",),
        ("store/test_merge", "store/test_bad_bundles"),
    ),
}

EQUIVALENT: Mapping[str, str] = {
    "integrity.touches: return False -> return None": "the answer is only asked for as true or not",
    "biofix._qualifies: return False -> return None": "the same",
    "publication._codes: return frozenset() -> return None": "a problem is named, and nothing is read of the file then",
    "unlikely._marks: count > 2 * mean -> count >= 2 * mean": "the count at the line has the least tail of all kept",
    "unlikely._marks: True -> False in 'u, v, w = ": "three marks, three lists",
    "figures._by_day: True -> False in 'alone = ": "a day is made of each row",
    "figures._by_day: first <= days[0] <= days[-1] <= last -> … < last": "cut to all of them, they are the same",
    "figures.series: True -> False in 'found.append(_series(hanging, (), (), True": "of no reading nothing is unsound",
    "figures.Series: False -> True in 'spans: … (3)": "they follow from the readings, which are compared",
    "figures.Series: False -> True in 'sound: … (2)": "how it looks in a debugger",
    "threshold._since: 1 -> 2 in …1), '')\"": "a rolling sum says over how many days",
    "figures.estimates_in: len(reading.entries) > 1 -> ": "of one entry the answer is the same",
    "figures.rate: 0 -> 1 in 'days += reading.days or 0'": "a rated reading has its days",
    "blocks.block_row: 0 -> 1 in 'return BlockRow(": "a reading behind a figure has its days",
    "integrity.sorts: 2 -> 3 in ": "a hanging still comes before a visit of its day",
    "publication.Cell: True -> False in 'class ": "it is made with names wherever it is made",
    "publication.release: 0 -> 1 in 'value = ": "without a farm nothing is printed",
    "upkeep.usual_life: 0 -> 1 in ": "no life is printed for lures from 1 mg on",
    "upkeep.lures_held: True -> False in ": "each lure has one end",
    "upkeep.lots_behind: len(found) > 1 -> len(found) >= 1": "of one lure there is nothing to put together",
    "treatments._back_at: last is None or after.per_week is None -> last is None and": "both are None at once",
    "treatments.treated: 2 -> 3 in 'found = …visi'": "the watch takes the first two, block and species",
    "treatments._side: 0 -> 1 in 'return Side(… (2)": "a valid reading has its days",
    "merge.unknown: 0 -> 1 in ": "every kind is counted, also where nothing of it was new",
    "journal.record_rows: True -> False in ": "an id was made for each row",
    "journal.in_bulk: adding >= _ANEW_FROM": "it decides when indexes are made anew, which changes the time alone",
    "journal.in_bulk: type_ == 'trigger' -> type_ !=": "each such table has indexes, and the same is found",
    "journal._linked: 0 -> 1 in 'if len(text) > most": "each row has its id, a text",
    "journal.: 5000 -> 5001 in '_ANEW_FROM": "when indexes are made anew changes the time alone",
    "journal._linked: len(text) > most -> len(text) >= most": "no value is longer than the text that holds it",
}
"""Changes that change nothing anybody could see, with the reason: by the beginning of the name as printed, and where
several begin so by its end too, behind three dots."""


def is_equivalent(name: str) -> bool:
    """Whether a change is one of those."""
    return any(
        name.startswith(begin) and name.endswith(end) for begin, _, end in (k.partition("…") for k in EQUIVALENT)
    )


COMPARED = {ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq}
COMPARED |= {ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is}
JOINED = {ast.And: ast.Or, ast.Or: ast.And}
RECKONED = {ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Add}


@dataclass(frozen=True, slots=True)
class Mutant:
    """One change."""

    topic: str
    module: str
    place: int
    """Which of the module's changes it is."""
    name: str
    """Module, function, and the expression before and after."""
    lines: tuple[int, int]
    """First and last line of the statement, of the expression in the head of a compound one."""
    function: str
    """The function that runs it; empty where it is run at import."""

    @property
    def line(self) -> int:
        """First line."""
        return self.lines[0]


def path_of(module: str, root: Path = ROOT) -> Path:
    """File of a module."""
    return root / f"{module.replace('.', '/')}.py"


def changes(tree: ast.Module) -> Iterator[tuple[ast.AST, str, int]]:
    """Every change that can be made: where, of what kind, and at which operator of the place."""
    for node in walk(tree):
        if isinstance(node, ast.Compare):
            yield from ((node, "compare", at) for at, op in enumerate(node.ops) if type(op) in COMPARED)
        elif isinstance(node, ast.BoolOp):
            yield node, "join", 0
        elif isinstance(node, ast.BinOp) and type(node.op) in RECKONED:
            yield node, "reckon", 0
        elif isinstance(node, ast.Constant) and isinstance(node.value, bool | int):
            yield node, "constant", 0
        elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
            yield node, "not", 0
        elif isinstance(node, ast.Return) and node.value is not None and ast.unparse(node.value) != "None":
            yield node, "return", 0


def walk(node: ast.AST) -> Iterator[ast.AST]:
    """What runs, in the order of the file: no annotation, no decorator, no import for types."""
    for name, value in ast.iter_fields(node):
        if name in {"annotation", "returns", "decorator_list", "type_params"}:
            continue
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
            continue
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST):
                yield child
                yield from walk(child)


def change(node: ast.AST, kind: str, at: int) -> None:
    """Make a change."""
    match kind, node:
        case "compare", ast.Compare():
            node.ops[at] = COMPARED[type(node.ops[at])]()
        case "join", ast.BoolOp():
            node.op = JOINED[type(node.op)]()
        case "reckon", ast.BinOp():
            node.op = RECKONED[type(node.op)]()  # type: ignore[index]
        case "constant", ast.Constant():
            node.value = not node.value if isinstance(node.value, bool) else int(str(node.value)) + 1
        case "not", ast.UnaryOp():
            node.op = ast.UAdd()
            node.operand = ast.Call(ast.Name("bool", ast.Load()), [node.operand], [])
        case "return", ast.Return():
            node.value = ast.Constant(None)


@dataclass(frozen=True, slots=True)
class Place:
    """Where an expression stands."""

    holder: str = ""
    """Function or class."""
    function: str = ""
    """Function that runs it; empty where it is run at import."""
    statement: ast.stmt | None = None


def places(node: ast.AST, place: Place = Place()) -> Iterator[tuple[ast.AST, Place]]:
    """Every node of a tree with its place."""
    for name, value in ast.iter_fields(node):
        inside = place
        if isinstance(node, ast.FunctionDef):
            inside = replace(inside, holder=node.name, function=node.name if name == "body" else place.function)
        elif isinstance(node, ast.ClassDef):
            inside = replace(inside, holder=node.name, function="")
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST):
                at = replace(inside, statement=child) if isinstance(child, ast.stmt) else inside
                yield child, at
                yield from places(child, at)


def mutants(topic: str, module: str) -> list[Mutant]:
    """Every change of a module."""
    tree = ast.parse(path_of(module).read_text(encoding="utf-8"))
    where = {id(node): place for node, place in places(tree)}
    found, seen = [], Counter[str]()
    for number, (node, kind, at) in enumerate(changes(tree)):
        after = copy.deepcopy(node)
        change(after, kind, at)
        place = where[id(node)]
        text = f"{module.rpartition('.')[2]}.{place.holder}: {ast.unparse(node)} -> {ast.unparse(after)}"
        if kind == "constant" and place.statement:
            text += f" in {ast.unparse(place.statement)[:90]!r}"
        text = " ".join(text.split())
        seen[text] += 1
        span = node if hasattr(place.statement, "body") else place.statement
        lines = (getattr(span, "lineno", 0), getattr(span, "end_lineno", 0))
        name = text if seen[text] == 1 else f"{text} ({seen[text]})"
        found.append(Mutant(topic, module, number, name, lines, place.function))
    return found


def changed(mutant: Mutant) -> ast.Module:
    """The module with the change made."""
    tree = ast.parse(path_of(mutant.module).read_text(encoding="utf-8"))
    change(*list(changes(tree))[mutant.place])
    return ast.fix_missing_locations(tree)


def drawn(topics: Sequence[str], count: int, seed: int) -> list[Mutant]:
    """So many changes, spread over all topics, none twice, in an order of chance; some topics where some are named."""
    chance, picked, seen = Random(seed), [], set()
    for number, (topic, of) in enumerate(TABLE.items()):
        every = [one for module in of.modules for one in mutants(topic, module) if (module, one.place) not in seen]
        share = count // len(TABLE) + (number < count % len(TABLE))
        picked += chance.sample(every, min(share, len(every)))
        seen = {(one.module, one.place) for one in picked}
    return [one for one in picked if one.topic in topics]


def members(holder: ModuleType | type | Mapping[str, Any], of: str) -> Iterator[tuple[str, Any]]:
    """Classes and functions that a module made, by their names with the class before it."""
    inside = holder if isinstance(holder, Mapping) else vars(holder)
    for value in list(inside.values()):
        for one in (value, *(getattr(value, name, None) for name in ("fget", "func", "__func__", "__wrapped__"))):
            if getattr(one, "__module__", "") != of:
                continue
            if isinstance(one, FunctionType):
                yield one.__qualname__, one
            elif isinstance(one, type) and one is not holder:
                yield one.__qualname__, one
                yield from members(one, of)


def codes(code: CodeType) -> Iterator[CodeType]:
    """A code object and all in it."""
    yield code
    for inside in code.co_consts:
        if isinstance(inside, CodeType):
            yield from codes(inside)


def put(mutant: Mutant) -> bool:
    """Make a change in the running process: new code, new defaults, new values; whether anything became another."""
    module = importlib.import_module(mutant.module)
    code = compile(changed(mutant), str(path_of(mutant.module)), "exec")
    old = dict(members(module, mutant.module))
    made = {(one.co_qualname, one.co_firstlineno): one for one in codes(code)}
    fresh: dict[str, Any] = {"__name__": mutant.module, "__file__": module.__file__}
    exec(code, fresh)
    new, done = dict(members(fresh, mutant.module)), False
    for name, one in old.items():
        if isinstance(one, type):
            # Of a frozen record the fields alone: what it is filled with, and by what it is compared.
            if issubclass(one, Frozen) and repr(fields(one)) != repr(fields(new[name])):
                one.__init__, one._compared, done = _init(new[name]), new[name]._compared, True  # type: ignore[method-assign]
            continue
        there = made.get((one.__code__.co_qualname, one.__code__.co_firstlineno))
        if there is not None and there != one.__code__:
            one.__code__, done = there, True
        if name in new and (new[name].__defaults__, new[name].__kwdefaults__) != (one.__defaults__, one.__kwdefaults__):
            one.__defaults__, one.__kwdefaults__, done = new[name].__defaults__, new[name].__kwdefaults__, True
    for name, value in fresh.items():
        was = vars(module).get(name)
        if not (name.startswith("__") or isinstance(value, type | FunctionType | ModuleType) or alike(value, was)):
            done = True
            for other in list(sys.modules.values()):
                if getattr(other, "__dict__", {}).get(name) is was:
                    setattr(other, name, value)
    for value in vars(module).values():
        if isinstance(value, _lru_cache_wrapper):
            value.cache_clear()
    return done


def alike(value: object, was: object) -> bool:
    """Whether a value was made anew as it was; a record of a class made anew equals none of the old one."""
    return value == was or repr(value) == repr(was)


@dataclass(eq=False)
class Asked:
    """Runs the changes in place of the tests that were collected."""

    state: Path
    todo: Sequence[Mutant]
    until: float
    most_seconds: float

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Learn what the tests run, then make one change after the other."""
        from tests import conftest

        was, conftest.MADE = conftest.MADE, self.state / "made"
        try:
            known = self.learned(session)
            items = {item.nodeid: item for item in session.items}
            for mutant in self.todo:
                if time.monotonic() > self.until:
                    break
                self.note(mutant, *in_a_process(partial(self.tried, session, items, known, mutant)))
        finally:
            conftest.MADE = was
        return True

    def learned(self, session: pytest.Session) -> dict[str, dict[str, Any]]:
        """What each test runs and how long it takes; of those not asked before, in a process of its own."""
        path = self.state / "tests.jsonl"
        known = {one["test"]: one for one in read(path)}
        missing = [item for item in session.items if item.nodeid not in known]
        if missing:
            in_a_process(partial(learn, session, missing, path), limit=0)
        return {one["test"]: one for one in read(path) if one["passed"]}

    def tried(
        self, session: pytest.Session, items: Mapping[str, pytest.Item], known: Mapping[str, Any], mutant: Mutant
    ) -> dict[str, Any]:
        """Make a change and run its tests until one fails."""
        names = asked_of(mutant, known, items)
        if not put(mutant):
            return {"word": "not made"}
        spent = time.process_time()
        for at, name in enumerate(names):
            run_one(items[name], items[names[at + 1]] if at + 1 < len(names) else None)
            if session.testsfailed:
                return {"word": "caught", "by": name, "run": at + 1, "of": len(names)}
            if time.process_time() - spent > self.most_seconds:
                return {"word": "survived", "run": at + 1, "of": len(names)}
        return {"word": "survived", "run": len(names), "of": len(names)}

    def note(self, mutant: Mutant, found: dict[str, Any] | None, seconds: float) -> None:
        """Keep and print what became of a change."""
        found = {"name": mutant.name, **(found or {"word": "slow"}), "seconds": round(seconds, 1)}
        with (self.state / "results.jsonl").open("a") as file:
            file.write(json.dumps(found) + "\n")
        print(line_of(mutant, found), flush=True)


def asked_of(mutant: Mutant, known: Mapping[str, Any], items: Mapping[str, object]) -> list[str]:
    """The tests that run the lines of a change, the topic's own first, the quick before the slow."""
    first, last = mutant.lines
    own = tuple(f"tests/{name}.py" for name in TABLE[mutant.topic].tests)
    inside = set(range(first, last + 1))
    touching = [test for name, test in known.items() if name in items and mutant.module in test["lines"]]
    # What is run at import bears on whatever test runs the module.
    running = [test for test in touching if inside & set(test["lines"][mutant.module])] if mutant.function else []
    found = [(not test["test"].startswith(own), test["seconds"], test["test"]) for test in running or touching]
    return [name for *_, name in sorted(found)]


def run_one(item: pytest.Item, following: pytest.Item | None) -> None:
    """Run a test."""
    item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)


def learn(session: pytest.Session, items: Sequence[pytest.Item], path: Path) -> dict[str, Any]:
    """Run tests one by one and write down which lines of the trade code each of them runs."""
    files = {str(path_of(module)): module for of in TABLE.values() for module in of.modules}
    seen: dict[str, set[int]] = {}

    def entered(frame: FrameType, event: str, _: object) -> Callable[..., Any] | None:
        lines = seen.get(frame.f_code.co_filename)
        if lines is None:
            return None

        def stepped(frame: FrameType, event: str, _: object) -> Callable[..., Any]:
            lines.add(frame.f_lineno)
            return stepped

        return stepped

    with path.open("a") as file:
        for at, item in enumerate(items):
            seen.update((name, set()) for name in files)
            failed, spent = session.testsfailed, time.process_time()
            sys.settrace(entered)
            try:
                run_one(item, items[at + 1] if at + 1 < len(items) else None)
            finally:
                sys.settrace(None)
            lines = {files[name]: sorted(numbers) for name, numbers in seen.items() if numbers}
            seconds = round(time.process_time() - spent, 3)
            passed = session.testsfailed == failed
            file.write(json.dumps({"test": item.nodeid, "seconds": seconds, "passed": passed, "lines": lines}) + "\n")
            file.flush()
    return {}


def in_a_process(work: Callable[[], dict[str, Any]], limit: int = TIME_LIMIT) -> tuple[dict[str, Any] | None, float]:
    """What a fork of this process finds, None where it took too long or died; and its CPU time."""
    place = Path(tempfile.mkdtemp())
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    child = os.fork()
    if not child:
        try:
            signal.alarm(limit)
            nowhere = os.open(os.devnull, os.O_RDWR)
            for of in (0, 1, 2):
                os.dup2(nowhere, of)
            tempfile.tempdir = str(place)
            answer = json.dumps(work())
            (place / "answer.json").write_text(answer)
        finally:
            os._exit(0)
    os.waitpid(child, 0)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    answer = place / "answer.json"
    found = json.loads(answer.read_text()) if answer.exists() else None
    shutil.rmtree(place, ignore_errors=True)
    return found, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def read(path: Path) -> list[dict[str, Any]]:
    """Rows of a file of JSON lines; a last one that was cut is left out."""
    rows = []
    for line in path.read_text().splitlines() if path.exists() else []:
        try:
            rows.append(json.loads(line))
        except ValueError:
            continue
    return rows


def line_of(mutant: Mutant, found: Mapping[str, Any]) -> str:
    """What became of a change, in a line."""
    sign = "!!" if found["word"] in {"survived", "not made"} else "  "
    by = found.get("by") or f"{found.get('run', 0)} of {found.get('of', 0)} tests run"
    seconds = found.get("seconds", 0)
    return f"{sign} {found['word']:10} {seconds:5.1f} s  {mutant.topic} line {mutant.line}: {mutant.name} [{by}]"


def report(todo: Sequence[Mutant], found: Mapping[str, Mapping[str, Any]]) -> None:
    """Print who survived, and the figure."""
    words = {one.name: "equivalent" if is_equivalent(one.name) else found.get(one.name, {}).get("word") for one in todo}
    print(*(line_of(one, found[one.name]) for one in todo if words[one.name] in {"survived", "not made"}), sep="\n")
    tally = {
        word: sum(word == other for other in words.values()) for word in ("caught", "slow", "survived", "equivalent")
    }
    run, caught = tally["caught"] + tally["slow"] + tally["survived"], tally["caught"] + tally["slow"]
    seconds = sum(one.get("seconds", 0) for one in found.values())
    print(f"{caught} of {run} caught ({caught / max(run, 1):.1%}), {tally['slow']} of them by time, ", end="")
    print(f"{tally['equivalent']} equivalent, {len(todo) - sum(tally.values())} to go; {seconds:.0f} s of CPU")


def main() -> None:
    """Draw, run and print."""
    asked = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    asked.add_argument("state", type=Path)
    asked.add_argument("topics", nargs="*", choices=[*TABLE, []], default=[])
    asked.add_argument("--count", type=int, default=300)
    asked.add_argument("--seed", type=int, default=20261130)
    asked.add_argument("--minutes", type=float, default=9)
    asked.add_argument("--seconds", type=float, default=MOST_SECONDS)
    asked.add_argument("--again", action="store_true", help="run those that survived once more")
    asked.add_argument("--report", action="store_true")
    given = asked.parse_args()
    state = given.state.resolve()
    state.mkdir(parents=True, exist_ok=True)
    drawn_now = drawn(given.topics or list(TABLE), given.count, given.seed)
    found = {one["name"]: one for one in read(state / "results.jsonl")}
    print(f"{len(drawn_now)} changes, seed {given.seed}", flush=True)
    if not given.report:
        todo = [one for one in drawn_now if not is_equivalent(one.name)]
        todo = [
            one for one in todo if found.get(one.name, {"word": ""})["word"] in ({"survived"} if given.again else {""})
        ]
        left_out = [f"--ignore=tests/{name}" for name in LEFT_OUT]
        settled = ("--disable-plugin-autoload", "-ppytest_asyncio.plugin", "-pno:cacheprovider", "-oaddopts=", "-qs")
        runner = Asked(state, todo, time.monotonic() + given.minutes * 60, given.seconds)
        os.chdir(ROOT)
        pytest.main([*(f"tests/{name}" for name in TESTS), *left_out, *settled], plugins=[runner])
        found = {one["name"]: one for one in read(state / "results.jsonl")}
    report(drawn_now, found)


if __name__ == "__main__":
    main()
