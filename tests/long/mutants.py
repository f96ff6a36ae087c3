"""One-place changes of trade code: how many of them do the tests that concern them catch?

``python -m tests.long.mutants [TOPIC ...] [--count N] [--seed S] [--workers W] [--from K]`` draws N changes (300) from
the topics of ``TABLE``, the same for the same seed, makes each in a copy of the tree, and runs the tests of its topic
until the first that fails. It prints who survived. Those read one by one and found to change nothing that anybody could
see stand in ``EQUIVALENT``, with the reason, and are drawn but not run.
"""

from __future__ import annotations

import argparse
import ast
import copy
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from queue import Queue
from random import Random

ROOT = Path(__file__).resolve().parents[2]
COPIED = ("roundtui", "tests", "sample_farm", "docs", "pyproject.toml", "README.md", "DEVELOPERS.md", ".ci")
TIME_LIMIT = 150
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
    "publication._codes: return frozenset() -> return None": "a problem is named, and nothing is read of the file then",
    "unlikely._marks: count > 2 * mean -> count >= 2 * mean": "the count at the line has the least tail of all kept",
    "unlikely.slip: log_chance(best - carried, mean, k) - here > marks.more -> log_chance(best - carried, mean, k) - "
    "here >= marks.more": "two logarithms that are equal to the last digit",
}
"""Changes that change nothing anybody could see, by name as printed, with the reason."""

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
    line: int


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


def mutants(topic: str, module: str) -> list[Mutant]:
    """Every change of a module."""
    tree = ast.parse(path_of(module).read_text(encoding="utf-8"))
    inside = {
        id(child): node.name
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef | ast.ClassDef)
        for child in ast.walk(node)
    }
    found, seen = [], {}
    for place, (node, kind, at) in enumerate(changes(tree)):
        after = copy.deepcopy(node)
        change(after, kind, at)
        line = getattr(node, "lineno", 0)
        text = f"{module.rpartition('.')[2]}.{inside.get(id(node), '')}: {ast.unparse(node)} -> {ast.unparse(after)}"
        if kind == "constant":
            text += f" in {ast.unparse(statement(tree, node))[:90]!r}"
        text = " ".join(text.split())
        seen[text] = seen.get(text, 0) + 1
        found.append(Mutant(topic, module, place, text if seen[text] == 1 else f"{text} ({seen[text]})", line))
    return found


def statement(tree: ast.Module, node: ast.AST) -> ast.AST:
    """The statement that an expression stands in; of a compound one its first line matters only."""
    holders = [one for one in ast.walk(tree) if isinstance(one, ast.stmt) and any(node is x for x in ast.walk(one))]
    return min(holders, key=lambda one: (one.end_lineno or 0) - one.lineno)


def changed(mutant: Mutant) -> str:
    """Text of the module with the change made."""
    tree = ast.parse(path_of(mutant.module).read_text(encoding="utf-8"))
    change(*list(changes(tree))[mutant.place])
    return ast.unparse(ast.fix_missing_locations(tree)) + "\n"


def drawn(topics: Sequence[str], count: int, seed: int) -> list[Mutant]:
    """So many changes, spread over all topics, in an order of chance; some topics of it where some are named."""
    chance, picked = Random(seed), []
    for number, (topic, of) in enumerate(TABLE.items()):
        every = [one for module in of.modules for one in mutants(topic, module)]
        share = count // len(TABLE) + (number < count % len(TABLE))
        picked.append(chance.sample(every, min(share, len(every))))
    return [one for of_topic in picked for one in of_topic if one.topic in topics]


def outcome(mutant: Mutant, tree: Path, clock: int) -> tuple[str, float]:
    """Run the tests of a change's topic on a copy of the tree: caught, survived, or slow, and the seconds it took."""
    path = path_of(mutant.module, tree)
    good = path.read_bytes()
    began = time.monotonic()
    try:
        path.write_text(changed(mutant), encoding="utf-8")
        # Compiled files go by the second and the size: no two changes may look alike.
        os.utime(path, (clock, clock))
        code = run_tests(TABLE[mutant.topic].tests, tree)
    finally:
        path.write_bytes(good)
    word = {0: "survived", None: "slow", 1: "caught"}.get(code, "caught")
    return word, time.monotonic() - began


def run_tests(tests: Sequence[str], tree: Path) -> int | None:
    """Exit code of the tests; None where they took too long."""
    there = [f"tests/{name}.py" for name in tests if (tree / f"tests/{name}.py").exists()]
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-n0", "-p", "no:cacheprovider", *there]
    env = {**os.environ, "PYTHONPATH": str(tree)}
    try:
        return subprocess.run(
            command, cwd=tree, env=env, capture_output=True, timeout=TIME_LIMIT, check=False
        ).returncode
    except subprocess.TimeoutExpired:
        return None


def copied(place: Path) -> Path:
    """A copy of the tree."""
    place.mkdir()
    for name in COPIED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, place / name, ignore=shutil.ignore_patterns("__pycache__", "pictures"))
        elif source.exists():
            shutil.copy(source, place / name)
    return place


def main() -> None:
    """Draw, run and print."""
    asked = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    asked.add_argument("topics", nargs="*", choices=[*TABLE, []], default=[])
    asked.add_argument("--count", type=int, default=300)
    asked.add_argument("--seed", type=int, default=20310603)
    asked.add_argument("--workers", type=int, default=1)
    asked.add_argument("--from", type=int, default=0, dest="first")
    asked.add_argument("--list", action="store_true")
    given = asked.parse_args()
    todo = drawn(given.topics or list(TABLE), given.count, given.seed)[given.first :]
    print(f"{len(todo)} changes, seed {given.seed}", flush=True)
    if given.list:
        print(*(f"{one.topic}: {one.line}: {one.name}" for one in todo), sep="\n")
        return
    tally = {"caught": 0, "slow": 0, "survived": 0, "equivalent": 0}
    with tempfile.TemporaryDirectory() as place, ThreadPoolExecutor(given.workers) as pool:
        trees: Queue[Path] = Queue()
        for number in range(given.workers):
            trees.put(copied(Path(place) / str(number)))
        tree = trees.get()
        for topic in {one.topic: None for one in todo}:
            assert run_tests(TABLE[topic].tests, tree) == 0, f"the tests of {topic} fail as it is"
        trees.put(tree)

        def one_of(numbered: tuple[int, Mutant]) -> tuple[Mutant, str, float]:
            number, mutant = numbered
            if mutant.name in EQUIVALENT:
                return mutant, "equivalent", 0.0
            tree = trees.get()
            try:
                return mutant, *outcome(mutant, tree, 1_600_000_000 + number)
            finally:
                trees.put(tree)

        for mutant, word, seconds in pool.map(one_of, enumerate(todo)):
            tally[word] += 1
            sign = "!!" if word == "survived" else "  "
            print(f"{sign} {word:10} {seconds:5.1f} s  {mutant.topic} line {mutant.line}: {mutant.name}", flush=True)
    run = len(todo) - tally["equivalent"]
    caught = tally["caught"] + tally["slow"]
    print(f"{caught} of {run} caught ({caught / max(run, 1):.0%}), {tally['equivalent']} equivalent", flush=True)


if __name__ == "__main__":
    main()
