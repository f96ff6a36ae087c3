"""Templates of the office: what they may do, and what is said where they go wrong."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from roundtui.report.letters.compose import compose
from roundtui.report.letters.letter import digest, line
from roundtui.report.letters.mail import svg
from roundtui.report.letters.material import Material
from roundtui.report.letters.template import TemplateError, Templates, letter_html, letter_text
from tests.report.letters.conftest import ON

Materials = Callable[[date], Material]


def own(folder: Path, text: str, name: str = "letter.html") -> Templates:
    (folder / "templates").mkdir(exist_ok=True)
    (folder / "templates" / name).write_text(text, encoding="utf-8")
    return Templates(folder)


def test_an_offices_template_comes_before_the_one_that_ships(tmp_path: Path, material_of: Materials) -> None:
    letter = compose(material_of(ON), "PELL")
    templates = own(tmp_path, "<p>{{ letter.name }} & {{ letter.blocks[0].mean }}</p>")
    assert letter_html(letter, templates) == "<p>Pellhurst Fruit & 5.0</p>"
    assert letter_text(letter, templates).startswith("Pellhurst Fruit: what your traps show")


def test_it_may_use_the_parts_of_the_one_that_ships(tmp_path: Path, material_of: Materials) -> None:
    templates = own(tmp_path, ".number { color: black; }", "letter.css")
    assert ".number { color: black; }" in letter_html(compose(material_of(ON), "PELL"), templates)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("one\ntwo {{ letter.nmae }}", "templates/letter.html, line 2: "),
        ("one\n\n{% for %}", "templates/letter.html, line 3: "),
        ("{{ letter.name.__class__ }}", "line 1: access to attribute '__class__'"),
        ("{{ ''.__class__.__mro__[1].__subclasses__() }}", "line 1: access to attribute '__class__'"),
        ("{{ letter.name.format }}{{ '{0.__class__}'.format(letter) }}", "line 1: access to attribute '__class__'"),
        ("{% include '../thresholds.toml' %}", "asks for ../thresholds.toml, which is not there"),
        ("{% include '/etc/hostname' %}", "which is not there"),
        ("{{ 1 / 0 }}", "line 1: division by zero"),
        ("{{ letter.name | safe }}", "line 1: No filter named 'safe'"),
        ("{{ range(10000000) | list }}", "line 1: Range too big"),
        ("{{ letter.blocks.append(1) }}", "line 1: "),
        ("\n{% include 'letter.css' %}\n{{ cycler }}{{ nothing }}", "line 3: 'nothing' is undefined"),
    ],
)
def test_a_fault_is_told_with_its_line(tmp_path: Path, material_of: Materials, text: str, words: str) -> None:
    with pytest.raises(TemplateError) as caught:
        letter_html(compose(material_of(ON), "PELL"), own(tmp_path, text))
    assert words in caught.value.message
    assert "\n" not in caught.value.message
    assert "templates/" in caught.value.hint


def test_a_template_that_is_no_text_is_told(tmp_path: Path, material_of: Materials) -> None:
    (tmp_path / "templates").mkdir()
    (tmp_path / "templates" / "letter.html").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(TemplateError, match=r"letter\.html: is not UTF-8 text"):
        letter_html(compose(material_of(ON), "PELL"), Templates(tmp_path))


def test_a_fault_far_in_names_the_file_it_is_in(tmp_path: Path, material_of: Materials) -> None:
    own(tmp_path, "fine\n{{ letter.blocks | map(attribute='wrong') | join }}", "part.html")
    with pytest.raises(TemplateError, match="line"):
        letter_html(compose(material_of(ON), "PELL"), own(tmp_path, "a\n{% include 'part.html' %}"))


def test_a_block_is_drawn_with_the_catch_of_each_trap_and_said_in_words_beside(material_of: Materials) -> None:
    letter = compose(material_of(ON), "PELL")
    (gate, _), (mill, words) = letter.maps
    assert str(words) == (
        "MILL Mill Bank. Codling moth: M1 (row 3, tree 9) 9.0, M2 (row 9, tree 18) 7.0, M3 (row 16, tree 12) 8.0, "
        "M4 (row 1, tree 2, at the edge) 20.0; Obliquebanded leafroller: M5 (row 7, tree 7) 0.0, "
        "M6 (row 13, tree 15) 0.0."
    )
    assert gate is not None
    assert mill is not None
    drawn = svg(mill)
    assert "<title>▲ MILL Mill Bank</title>" in drawn
    assert f"<desc>MILL Mill Bank, over threshold, catch of each trap a week. {str(words)[16:]}</desc>" in drawn
    assert [label for label in ("M4 CM 20.0", "M1 CM 9.0", "M5 OBLR 0.0") if f">{label}</text>" in drawn] == [
        "M4 CM 20.0",
        "M1 CM 9.0",
        "M5 OBLR 0.0",
    ]
    # Paper, the frame and the trap at the edge are square; the others are round, and empty where nothing was caught.
    assert (drawn.count("<rect"), drawn.count("<circle")) == (3, 5)
    assert len(re.findall(r'<circle[^>]*fill="#ffffff"', drawn)) == 2
    assert f"<figcaption>{words}</figcaption>" in letter_html(letter, Templates())
    assert "WHERE THE TRAPS HANG" in letter_text(letter, Templates())


def test_a_block_that_caught_nothing_has_words_and_no_curve(material_of: Materials) -> None:
    letter = compose(material_of(ON), "DUSK")
    curves = {row.block.split()[0]: row.curve is not None for row in letter.blocks}
    assert curves == {"BARN": True, "POND": False}
    text = letter_text(letter, Templates(width=50))
    assert "This season so far: 0.0 moths a trap." in " ".join(text.split())
    assert max(map(len, text.splitlines())) <= 50, "as wide as the screen asks"


def test_a_trap_that_was_not_read_is_a_cross_and_a_count_that_changes_makes_the_letter_another(
    material_of: Materials,
) -> None:
    letter = compose(material_of(ON), "MOSS")
    lane = next(picture for picture, words in letter.maps if picture is not None and str(words).startswith("LANE"))
    assert "L2 (row 10, tree 22) not read" in lane.alt
    assert svg(lane).count("<path") == 2
    changed = replace(
        letter, maps=tuple((one, line(str(words).replace("not read", "4.0"))) for one, words in letter.maps)
    )
    assert digest(changed) != digest(letter)
