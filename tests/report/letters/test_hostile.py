"""Text from people, in every place it can stand in, comes out as text and as nothing else."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from email import message_from_bytes
from email.policy import default
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from roundtui.domain.entries import NoReading, Visit
from roundtui.domain.figures.verdicts import NotRead
from roundtui.domain.publication import LettersOffice
from roundtui.report.letters.compose import compose
from roundtui.report.letters.files import file_stems
from roundtui.report.letters.mail import eml, is_address, svg
from roundtui.report.letters.material import Material
from roundtui.report.letters.template import Templates, letter_html, letter_mail, letter_text
from tests.report.letters.conftest import NOW, ON

Materials = Callable[[date], Material]

WORST = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "</style></svg><svg onload=alert(1)>",
    "{{ 7 * 7 }} {% raw %} {# #}",
    "{{ ''.__class__.__mro__ }}",
    "a\r\nBcc: everyone@example.org\r\n\r\n<b>hello</b>",
    '=HYPERLINK("http://example.org","x")',
    "[bold red]x[/] \x1b[31m \u202e\u2066 \x00\ud800",
    "&lt;b&gt; &amp; ]]> --> <!--",
    "javascript:alert(1)",
    "cid:picture-1@letter",
    "x" * 10_000,
)
DRAWN = {"svg", "title", "desc", "defs", "g", "rect", "text", "path", "circle", "line"}
"""Elements that pictures are made of."""
hostile = st.one_of(st.sampled_from(WORST), st.text(max_size=60), st.tuples(*[st.sampled_from(WORST)] * 2).map("".join))


def spoiled(material: Material, words: str) -> tuple[Material, str]:
    """The material with the words as name, grower, address, note, reason, office, block and rule of one farm."""
    farm = "DUSK"
    programme = material.programme
    known = programme.farms[farm]
    farms = {**programme.farms, farm: replace(known, name=words, grower=words, email=words, phone=words)}
    blocks = {
        code: replace(block, name=words, variety=words) if block.farm == farm else block
        for code, block in programme.blocks.items()
    }
    visits = {
        trap: [
            replace(visit, note=f"grower: {words}") if visit.read_on > date(2025, 7, 8) else visit for visit in found
        ]
        for trap, found in material.history.visits.items()
    }
    rows = [
        replace(row, why=words, rule=replace(row.rule, id=words, source=words) if row.rule else None)
        for row in material.summary.blocks
    ]
    summary = replace(material.summary, blocks=tuple(rows), not_read=(NotRead("B1", NoReading.OTHER, "BARN", words),))
    office = LettersOffice(name=words, address=words, email=words, phone=words, area=words)
    changed = replace(
        material,
        programme=replace(programme, farms=farms, blocks=blocks),
        summary=summary,
        history=replace(material.history, visits=visits),
        office=office,
    )
    return changed, farm


class Elements(HTMLParser):
    """Names of all elements and attributes of a page."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: set[str] = set()
        self.attributes: set[tuple[str, str]] = set()
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.add(tag)
        self.attributes |= {(tag, name) for name, _ in attrs}


@pytest.fixture(scope="module")
def clean(material_of: Materials, templates: Templates) -> tuple[Elements, Elements]:
    letter = compose(material_of(ON), "DUSK", note="Hello")
    return Elements(letter_html(letter, templates)), Elements(letter_mail(letter, templates).html)


@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(hostile)
def test_hostile_text_is_inert_in_page_text_mail_and_pictures(
    material_of: Materials, templates: Templates, clean: tuple[Elements, Elements], words: str
) -> None:
    material, farm = spoiled(material_of(ON), words)
    letter = compose(material, farm, note=words)
    page = Elements(letter_html(letter, templates))
    assert page.elements <= clean[0].elements | {"strong"}
    assert page.attributes <= clean[0].attributes
    for picture in letter.pictures:
        tree = ElementTree.fromstring(svg(picture))
        assert {node.tag.split("}")[1] for node in tree.iter()} <= DRAWN
    text = letter_text(letter, templates)
    assert not [char for char in text if char != "\n" and unicodedata.category(char) in {"Cc", "Cf", "Cs", "Zl", "Zp"}]
    assert "49" not in text.replace(words, "") or "49" in letter_text(compose(material_of(ON), farm), templates)
    mail = letter_mail(letter, templates)
    assert Elements(mail.html).attributes <= clean[1].attributes
    parsed = message_from_bytes(eml(mail, NOW), policy=default)
    assert set(parsed.keys()) <= {"Subject", "From", "To", "Date", "X-Unsent", "MIME-Version", "Content-Type"}
    assert parsed["Bcc"] is None
    assert not parsed.defects
    for header in ("From", "To"):
        assert parsed[header] is None or is_address(words)


@given(st.lists(hostile, unique=True, max_size=6))
def test_files_have_names_that_every_disk_takes_and_that_no_two_farms_share(farms: list[str]) -> None:
    stems = file_stems(farms)
    assert len({stem.casefold() for stem in stems.values()}) == len(farms)
    assert all(
        stem and set(stem) <= set("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-")
        for stem in stems.values()
    )


@pytest.mark.parametrize(
    ("address", "good"),
    [
        ("ada@mossbarrow.example", True),
        ("a.b+c@x-y.example", True),
        ("ada@mossbarrow.example\nBcc: x@y.example", False),
        ("ada@a.example, bob@b.example", False),
        ("<ada@a.example>", False),
        ("ada", False),
        ("", False),
        ("ada@" + "x" * 300, False),
        ("ä@x.example", False),
    ],
)
def test_only_an_address_is_an_address(address: str, good: bool) -> None:
    assert is_address(address) is good


def test_a_note_is_never_a_template(material_of: Materials, templates: Templates) -> None:
    letter = compose(material_of(ON), "DUSK", note="{{ 7 * 7 }} {% include 'letter.css' %}")
    assert "{{ 7 * 7 }} {% include &#39;letter.css&#39; %}" in letter_html(letter, templates)
    assert "{{ 7 * 7 }} {% include 'letter.css' %}" in letter_text(letter, templates)


def test_an_offices_template_cannot_let_markup_through(material_of: Materials, tmp_path: Path) -> None:
    """Escaping can be turned off in a template, and yet nothing gets through that was not drawn here."""
    (tmp_path / "templates").mkdir()
    (tmp_path / "templates" / "letter.html").write_text(
        "{% autoescape false %}{{ letter.note[0] }}"
        "{% set x = letter.note[0] %}{{ x }}{{ '<i>' ~ x }}{% endautoescape %}"
        "{% macro m() %}{{ letter.note[0] }}{% endmacro %}{{ m() }}{{ letter.note | join('<b>') }}"
    )
    letter = compose(material_of(ON), "DUSK", note="<script>x</script>")
    page = letter_html(letter, Templates(tmp_path))
    assert "<script" not in page
    assert "<i>" not in page
    assert page.count("script") >= 4


def test_a_recount_or_an_unread_trap_says_nothing_of_its_own(material_of: Materials) -> None:
    material = material_of(ON)
    visits = {**material.history.visits, "B1": [Visit(trap="B1", read_on=ON, count=1, note="")]}
    letter = compose(replace(material, history=replace(material.history, visits=visits)), "DUSK")
    assert not any("B1" in str(words) for words in letter.notes)
