from __future__ import annotations

import io
import random
from fractions import Fraction

import pytest
from rich.console import Console, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from roundtui.domain.text import listed, several
from roundtui.report.text import band, days, figure, heading, number, paragraph, tabled


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (Fraction(5), "5.0"),
        (Fraction(14, 3), "4.7"),
        (Fraction(28, 5), "5.6"),
        (Fraction(0), "0.0"),
        (Fraction(1, 3), "0.3"),
        (Fraction(69993), "69993.0"),
        (None, "–"),
    ],
)
def test_a_figure_has_one_decimal_and_none_is_no_zero(value: Fraction | None, text: str) -> None:
    assert figure(value) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (Fraction(499, 100), "4.99"),
        (Fraction(501, 100), "5.01"),
        (Fraction(5), "5.0"),
        (Fraction(299, 100), "2.99"),
        (Fraction(5) - Fraction(1, 10**9), "<5"),
        (Fraction(3) + Fraction(1, 10**9), ">3"),
    ],
)
def test_rounding_never_moves_a_figure_over_an_edge_of_its_band(value: Fraction, text: str) -> None:
    assert figure(value, (Fraction(3), Fraction(5))) == text


def test_bands_days_and_words() -> None:
    assert band((Fraction(3), Fraction(5))) == "3–5"
    assert band((Fraction(2), Fraction(2))) == "2"
    assert band((Fraction(47, 10), Fraction(5))) == "4.7–5"
    assert band(None) == "–"
    assert number(Fraction(1, 8)) == "0.125"
    assert [days(()), days((7,)), days((7, 7)), days((6, 12))] == ["–", "7", "7", "6–12"]
    assert [several(1, "day"), several(2, "day"), several(0, "moth")] == ["1 day", "2 days", "0 moths"]
    assert [listed(()), listed(["A2"]), listed(["A2", "A3", "A10"])] == ["", "A2", "A2, A3 and A10"]


def drawn(*parts: RenderableType, width: int) -> str:
    console = Console(file=io.StringIO(), width=width, highlight=False, markup=False, emoji=False)
    for part in parts:
        console.print(part)
    assert isinstance(console.file, io.StringIO)
    return "\n".join(line.rstrip() for line in console.file.getvalue().splitlines())


WORDS = ("CM", "4.7", "Mossbarrow", "in the mean;", "A2,", "-", "B" * 31, "林檎園", "é")
"""The first six are what a summary nearly always says."""


@pytest.mark.parametrize("seed", range(40))
def test_lines_and_tables_are_drawn_as_rich_draws_them(seed: int) -> None:
    """Words of any length and width, at widths from very few columns on."""
    chance = random.Random(seed)

    def words(most: int) -> str:
        return " ".join(chance.choice(WORDS[: 6 if seed % 4 else None]) for _ in range(chance.randint(0, most)))

    width, said = chance.choice((30, 46, 80, 120)), f"Trap {words(40)}"
    text = Text(said, overflow="fold")
    assert drawn(heading(said), width=width) == drawn(text, width=width)
    assert drawn(paragraph(said, 4), width=width) == drawn(Padding(text, (0, 0, 0, 4), expand=False), width=width)
    rows = [[words(3), words(2), words(3), words(9)] for _ in range(3)]
    table = Table(box=None, padding=(0, 1, 0, 0), pad_edge=False, width=width, header_style="underline")
    # Where a word fills its last line, rich sets an empty one below: no word fills a multiple of these widths.
    table.add_column("", width=3, overflow="fold")
    table.add_column("Trap", width=7, overflow="fold")
    table.add_column("No.", width=4, overflow="fold", justify="right")
    table.add_column("Because", overflow="fold", ratio=1)
    for row in rows:
        table.add_row(*(Text(cell) for cell in row))
    ours = tabled(" 3|Trap 7|No. >4|Because", width, [("", row) for row in rows])
    assert drawn(*ours, width=width) == drawn(table, width=width)


def test_words_that_a_narrow_table_has_no_room_for_stand_below_their_row() -> None:
    rows = [("", ["CM25A", "57", "to 8 Jul"]), ("", ["OBLR25A", "3", ""])]
    lines = {}
    for width in (30, 18):
        console = Console(width=width, file=io.StringIO(), legacy_windows=False)
        for line in tabled("Lot 7|Left >4|Enough", width, rows):
            console.print(line)
        lines[width] = [line.rstrip() for line in console.file.getvalue().splitlines()]  # type: ignore[attr-defined]
    assert lines[30] == ["Lot     Left Enough", "CM25A     57 to 8 Jul", "OBLR25A    3"]
    assert lines[18] == ["Lot     Left", "CM25A     57", "    to 8 Jul", "OBLR25A    3"]


def test_a_sign_and_the_end_of_a_sentence_stand_out() -> None:
    console = Console(file=io.StringIO(), width=20, force_terminal=True, color_system="standard")
    console.print(paragraph([("! ", "bold"), ("Put in a lure for CM", ""), (" now.", "bold")]))
    assert isinstance(console.file, io.StringIO)
    bold, plain = "\x1b[1m", "\x1b[0m"
    assert console.file.getvalue() == (f"  {bold}! {plain}Put in a lure\n  for CM{bold} now.{plain}\n")
