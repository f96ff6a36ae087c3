"""The page of commands, made from the commands themselves.

python -m tests.docs.commands_page          # writes docs/commands.md
"""

from __future__ import annotations

from pathlib import Path

import click

from roundtui.cli import main

PAGE = Path(__file__).parents[2] / "docs" / "commands.md"
HEAD = """# Commands

Made from the program by `python -m tests.docs.commands_page`; a test holds the two together.

Data goes to standard output, words to standard error. A command ends with 0 when it is done, 1 when there is a problem
in data or store, and 2 when it was called wrongly. `--json` prints what other programs may rely on; everything else is
for people and may change.
"""


def page() -> str:
    """The page as it should stand."""
    parts = [HEAD, section("roundtui", main)]
    context = click.Context(main)
    for name in main.list_commands(context):
        command = main.get_command(context, name)
        assert command is not None, f"{name} is listed in cli.ELSEWHERE and not in its module"
        parts.append(section(f"roundtui {name}", command))
    return "\n".join(parts)


def section(path: str, command: click.Command) -> str:
    """One command with its help as it prints it."""
    context = click.Context(command, info_name=path, max_content_width=100, terminal_width=100)
    return f"## {path}\n\n```text\n{command.get_help(context)}\n```\n"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
