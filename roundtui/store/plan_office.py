"""What an office settled for its plans, from ``plan.toml`` in its folder."""

from __future__ import annotations

from pathlib import Path

from roundtui.domain.plan.rules import PlanOffice
from roundtui.domain.plan.table import parse_plan
from roundtui.errors import Problem, ProblemsError
from roundtui.store.toml_file import read_toml

PLAN = "plan.toml"
"""Name of the file inside the scouting folder."""


def read_plan_office(folder: Path) -> PlanOffice:
    """The office's rules for hanging before those that ship, its numbers of traps and habits.

    Args:
        folder: The scouting folder.

    Raises:
        ProblemsError: The file cannot be read or says something wrong; every fault is in it.
    """
    hint = "look at the line it names; rules begin with [[hang]], [[density]] or [[traps]], and texts stand in quotes"
    table, problem = read_toml(folder / PLAN, hint)
    problems: tuple[Problem, ...] = (problem,) if problem is not None else ()
    office: PlanOffice | None = PlanOffice()
    if table is not None:
        office, problems = parse_plan(table, PLAN)
    if office is None or problems:
        raise ProblemsError(f"{PLAN} cannot be used; no season is planned without it", problems, "mend the file")
    return office
