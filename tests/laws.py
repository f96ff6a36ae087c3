"""How large the house is, and the laws that keep it from growing: ``python -m tests.laws`` prints, a test holds them.

Code is what is left of a file without comments, docstrings (a string under a field too) and blank lines. An import
counts wherever it stands, in a function and for types as well; a circle is a set of modules each of which reaches
every other.
"""

from __future__ import annotations

import ast
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent

FILES = 290
"""Files of Python in the package, at most."""
CODE = 40_990
"""Lines of code in the package, at most."""
FOLDER = 20
"""Files of Python in one folder, ``__init__`` apart, at most."""
CIRCLES = 0
"""Circles of imports, at most."""
FILE = 600
"""Lines of code in one file, at most."""


@dataclass(frozen=True, slots=True)
class House:
    """A package, measured."""

    code: Mapping[str, int]
    """Lines of code of each module."""
    folders: Mapping[str, int]
    """Files in each folder, ``__init__`` apart."""
    imports: Mapping[str, frozenset[str]]
    """Modules of the package that each module imports."""

    @property
    def circles(self) -> list[list[str]]:
        """Modules that reach each other, the largest set first."""
        reached = {name: reach(self.imports, name) for name in self.imports}
        sets = {frozenset(b for b in reached[a] if a in reached[b]) for a in self.imports if a in reached[a]}
        return sorted((sorted(one) for one in sets), key=len, reverse=True)

    @property
    def unseen(self) -> list[str]:
        """Folders of Python without ``__init__``, as packages."""
        return sorted({name.rpartition(".")[0] for name in self.code} - self.code.keys() - {""})

    @property
    def single(self) -> list[tuple[str, str]]:
        """Modules with one importer, each with its importer."""
        importers: dict[str, list[str]] = {}
        for name, wanted in self.imports.items():
            for one in wanted:
                importers.setdefault(one, []).append(name)
        return sorted((name, by[0]) for name, by in importers.items() if len(by) == 1)


def measure(root: Path = ROOT, package: str = "roundtui") -> House:
    """Measure a package.

    Args:
        root: Folder that holds the package.
        package: Its name.
    """
    paths = {module_name(root, path): path for path in sorted((root / package).rglob("*.py"))}
    texts = {name: path.read_text(encoding="utf-8") for name, path in paths.items()}
    nodes = {name: list(ast.walk(ast.parse(text))) for name, text in texts.items()}
    folders = Counter(path.parent.relative_to(root).as_posix() for path in paths.values() if path.stem != "__init__")
    return House(
        {name: code_lines(text, nodes[name]) for name, text in texts.items()},
        folders,
        {
            name: frozenset(imported(nodes[name], name, paths[name].stem == "__init__", paths)) - {name}
            for name in paths
        },
    )


def module_name(root: Path, path: Path) -> str:
    """Name under which a file is imported."""
    parts = path.relative_to(root).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def code_lines(text: str, nodes: Sequence[ast.AST]) -> int:
    """How many lines of a file hold code."""
    lines = {number for number, line in enumerate(text.splitlines(), 1) if line.strip() and line.strip()[0] != "#"}
    words: set[int] = set()
    for node in nodes:
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant) and isinstance(node.value.value, str):
            words.update(range(node.lineno, (node.end_lineno or node.lineno) + 1))
        elif isinstance(node, ast.Constant | ast.JoinedStr) and node.end_lineno != node.lineno:
            lines.update(range(node.lineno, (node.end_lineno or node.lineno) + 1))
    return len(lines - words)


def imported(nodes: Sequence[ast.AST], name: str, is_package: bool, known: Mapping[str, Path]) -> Iterator[str]:
    """Modules of the package that a module imports, wherever it does."""
    for node in nodes:
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names if alias.name in known)
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                above = name.split(".") if is_package else name.split(".")[:-1]
                base = ".".join([*above[: len(above) - node.level + 1], *filter(None, [node.module])])
            for alias in node.names:
                inner = f"{base}.{alias.name}"
                if inner in known or base in known:
                    yield inner if inner in known else base


def reach(imports: Mapping[str, frozenset[str]], start: str) -> set[str]:
    """Modules that a module reaches through its imports, itself where it is in a circle."""
    seen: set[str] = set()
    open_ = [start]
    while open_:
        for one in imports[open_.pop()] - seen:
            seen.add(one)
            open_.append(one)
    return seen


def faults(house: House) -> list[str]:
    """Laws that a house breaks, in words; none where it keeps them."""
    circles = house.circles
    said = [
        f"{len(house.code)} files, {FILES} at most" if len(house.code) > FILES else "",
        f"{sum(house.code.values())} lines of code, {CODE} at most" if sum(house.code.values()) > CODE else "",
        f"{len(circles)} circles of imports, {CIRCLES} at most: {circles}" if len(circles) > CIRCLES else "",
        *(f"{number} files in {name}, {FOLDER} at most" for name, number in house.folders.items() if number > FOLDER),
        *(f"{number} lines of code in {name}, {FILE} at most" for name, number in house.code.items() if number > FILE),
        *(f"no __init__.py in {name.replace('.', '/')}: the import law does not see it" for name in house.unseen),
    ]
    return [one for one in said if one]


def report(house: House) -> Iterator[str]:
    """The measures in words, a line each."""
    largest, longest = (
        max(house.folders.items(), key=lambda one: one[1]),
        max(house.code.items(), key=lambda one: one[1]),
    )
    single = house.single
    yield f"files          {len(house.code):6,}   at most {FILES:,}"
    yield f"lines of code  {sum(house.code.values()):6,}   at most {CODE:,}"
    yield f"largest folder {largest[1]:6,}   at most {FOLDER:,}: {largest[0]}"
    yield f"longest file   {longest[1]:6,}   at most {FILE:,}: {longest[0]}"
    yield f"circles        {len(house.circles):6,}   at most {CIRCLES:,}"
    yield from (f"  {len(one)}: {', '.join(one)}" for one in house.circles)
    small = sum(1 for name, _ in single if house.code[name] < 60)
    yield f"one importer   {len(single):6,}   {small} of them under 60 lines"
    yield from (f"  {name} <- {by}" for name, by in single)


if __name__ == "__main__":
    measured = measure()
    print("\n".join(report(measured)))
    for fault in faults(measured):
        print(f"broken: {fault}")
