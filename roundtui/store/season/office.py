"""What an office settled for the season, in its ``models.toml``: models, biofix rules, habits of weather."""

from __future__ import annotations

from pathlib import Path

from roundtui.domain.season.models import SeasonOffice
from roundtui.domain.season.models_table import parse_models
from roundtui.errors import Problem, ProblemsError
from roundtui.store.toml_file import read_toml

MODELS = "models.toml"
"""Name of the file inside the scouting folder."""


def read_season_office(folder: Path) -> SeasonOffice:
    """The office's models and biofix rules before those that ship.

    Args:
        folder: The scouting folder.

    Raises:
        ProblemsError: The file cannot be read or says something wrong; every fault is in it.
    """
    office, problems = look_at_models(folder)
    if office is None:
        raise ProblemsError(
            f"{MODELS} cannot be used; no season is worked out without it", problems, "correct the file"
        )
    return office


def look_at_models(folder: Path) -> tuple[SeasonOffice | None, tuple[Problem, ...]]:
    """The same, with the faults as values.

    Args:
        folder: The scouting folder.
    """
    hint = "look at the line it names; models begin with [[model]], rules with [[biofix]], and texts stand in quotes"
    table, problem = read_toml(folder / MODELS, hint)
    if problem is not None:
        return None, (problem,)
    return (SeasonOffice(), ()) if table is None else parse_models(table, MODELS)
