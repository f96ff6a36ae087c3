"""Small pieces that the tables of a report share: headings, paragraphs, names of blocks and farms."""

from __future__ import annotations

from collections.abc import Iterable

from rich.console import RenderableType
from rich.padding import Padding
from rich.text import Text

from roundtui.domain.farm import Programme
from roundtui.domain.plain import plain

NAME_WIDTH = 40
"""Longest name shown. [columns]"""
NOTE_WIDTH = 240
"""Longest note shown; the whole of it is on record. [columns]"""

Section = list[RenderableType]


class Names:
    """Names of farms and blocks as people say them, harmless to show.

    Args:
        programme: What is set up; a code nobody knows stands for itself.
    """

    def __init__(self, programme: Programme) -> None:
        self._programme = programme

    def farm(self, code: str) -> str:
        """Name of a farm.

        Args:
            code: Code of the farm.
        """
        known = self._programme.farms.get(code)
        return plain(known.name if known and known.name else code, NAME_WIDTH)

    def block(self, code: str) -> str:
        """Code and name of a block, the name left out where it says the same.

        Args:
            code: Code of the block.
        """
        known = self._programme.blocks.get(code)
        if known is None or not known.name or known.name == code:
            return plain(code, NAME_WIDTH)
        return f"{plain(code, NAME_WIDTH // 2)} {plain(known.name, NAME_WIDTH)}"

    def place(self, block: str) -> str:
        """A block and its farm, for a sentence.

        Args:
            block: Code of the block.
        """
        farm = self._programme.farm_of(block)
        return f"{self.block(block)}, {self.farm(farm)}" if farm else self.block(block)

    def farm_code(self, block: str) -> str:
        """Code of the farm a block belongs to.

        Args:
            block: Code of the block.
        """
        return self._programme.farm_of(block)

    def species(self, trap: str) -> str:
        """Species of a trap; empty for a trap nobody knows.

        Args:
            trap: Label of the trap.
        """
        hangings = self._programme.hangings.get(trap, ())
        return hangings[-1].species if hangings else ""

    def contact(self, farm: str) -> tuple[str, str]:
        """Whom to call about a farm.

        Args:
            farm: Code of the farm.

        Returns:
            The grower's name, and the phone number or words saying that there is none.
        """
        known = self._programme.farms.get(farm)
        if known is None:
            return "grower not on record", "no phone on record"
        return (
            plain(known.grower, NAME_WIDTH) if known.grower else "grower not on record",
            plain(known.phone, NAME_WIDTH) if known.phone else "no phone on record",
        )


def heading(words: str, style: str = "bold") -> Text:
    """Title of a section.

    Args:
        words: The title.
        style: How it stands out where there is colour.
    """
    return Text(words, style=style, no_wrap=False, overflow="fold")


def paragraph(words: str | Text, indent: int = 2) -> Padding:
    """Words below a title.

    Args:
        words: What to say; text from people has gone through ``plain``.
        indent: Columns left free before it.
    """
    text = Text(words, overflow="fold") if isinstance(words, str) else words
    return Padding(text, (0, 0, 0, indent), expand=False)


def stacked(sections: Iterable[Section]) -> Section:
    """Put sections below each other with an empty line between.

    Args:
        sections: Each a title and what stands below it; empty ones are left out.
    """
    stack: Section = []
    for section in sections:
        if section:
            stack += [Text(""), *section] if stack else section
    return stack
