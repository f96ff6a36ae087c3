"""The page of errors, made from the messages that the tests give rise to.

python -m tests.docs.errors_page          # writes docs/errors.md
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from tests.docs.pages import DOCS

PAGE = DOCS / "errors.md"
MESSAGES = Path(__file__).parents[1] / "cli" / "messages.md"
HEAD = """# Errors

What the program says when something is wrong, and what to do. … stands for a name, a number or a day. A message in a
file begins with file, line and column. When something is refused, nothing is changed. A command that could not do its
work ends with 1, one that was called wrongly with 2.

Made from `tests/cli/messages.md`, whose inputs the tests give to the program, by `python -m tests.docs.errors_page`.
"""
WHERE = re.compile(
    r"^(?:\w+\.(?:csv|toml)|character \d+)(?:, (?:line \d+|character \d+|[a-z]+ \d+(?: \([^)]*\))?))*"
    r"(?:, (?P<column>[a-z_]+))?: "
)
"""Place of a fault in a file, at the head of a message."""
VARIES = re.compile(r"'[^']*'|\"[^\"]*\"|\d{4}-\d\d-\d\d|(?<![\w./-])\d+(?:\.\d+)?(?![\w/-])")
"""What differs from one case of a message to the next."""


def page() -> str:
    """The page as it should stand."""
    parts = [HEAD]
    before: set[tuple[str, str]] = set()
    for section in MESSAGES.read_text(encoding="utf-8").split("\n## ")[1:]:
        title, text = section.split("\n", 1)
        rows: dict[str, str] = {}
        usual = re.search(
            r"^What to do: ([^,.]*), unless", " ".join(text.split()).replace(" What", "\nWhat"), re.MULTILINE
        )
        for message, hint in said(text):
            if usual and not hint:
                one = re.sub(r"^(… [^:]*): .*", r"\1: …", message), usual[1]
            else:
                one = VARIES.sub("…", message), hint
            if one not in before:
                before.add(one)
                rows.setdefault(*one)
        if rows:
            lines = [f"| {message} | {hint} |" for message, hint in rows.items()]
            parts.append("\n".join([f"## {title}\n", "| message | what to do |", "| --- | --- |", *lines, ""]))
    return "\n".join(parts)


def said(text: str) -> Iterator[tuple[str, str]]:
    """Messages of a section, each with its hint."""
    for bullet in re.findall(r"^- (.*?)(?=^- |^\S|\n\n|\Z)", text, re.DOTALL | re.MULTILINE):
        words = " ".join(bullet.split())
        if found := re.match(r"((?:`[^`]+`(?:, )?)+): (.*)", words):
            for message in re.findall(r"`([^`]+)`", found[1]):
                yield message, found[2].rstrip(".").replace("|", "/")
    for cell in re.findall(r"^\|.* \| ([^|]+) \|$", text, re.MULTILINE):
        if cell not in ("message", "---"):
            yield split(cell)
    for session in re.findall(r"```console\n(.*?)```", text, re.DOTALL):
        for output in re.findall(r"^\$ roundtui [^\n]*\n(.*?)(?=^\$ |\Z)", session, re.DOTALL | re.MULTILINE):
            *faults, hint = output.strip().split("\n")
            if hint.startswith("What to do: ") and faults:
                inner = [fault.strip() for fault in faults if fault.startswith("  ")]
                yield from (split(fault) for fault in inner) if inner else [(faults[-1], hint[12:].rstrip("."))]


def split(message: str) -> tuple[str, str]:
    """A message without its place in the file, and the hint that stands in brackets at its end."""
    message = WHERE.sub(lambda where: f"{where['column']}: " if where["column"] else "", message.strip())
    found = re.fullmatch(r"(.*) \(([^()]*(?:\([^()]*\)[^()]*)*)\)", message)
    return (found[1], found[2]) if found else (message, "")


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
