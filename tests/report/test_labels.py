"""Trap labels: the code is read back by another library, the sheet fits its paper, and hostile text is inert."""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import png
import pytest
import resvg_py
import zxingcpp
from hypothesis import given, settings
from hypothesis import strategies as st

from roundtui.domain.entries import Assembled
from roundtui.domain.programme.farm import Block, Farm, Programme, Trap
from roundtui.domain.traps.labels import SHEETS, USUAL_SHEET, LabelSheet, TrapLabel, trap_labels
from roundtui.report.traps.labels import BLANK, code_svg, labels_html, labels_text
from tests.hostile import WORST

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
in_browser = [
    pytest.mark.skipif(CHROMIUM is None, reason="no chromium on this machine: apt-get install chromium"),
    pytest.mark.skipif(shutil.which("pdfinfo") is None, reason="no pdfinfo: apt-get install poppler-utils"),
]
DAY = date(2026, 5, 20)


def label(trap: str = "A1", **more: Any) -> TrapLabel:
    values: dict[str, Any] = {
        "species": "CM",
        "species_name": "codling moth",
        "block": "N North Slope",
        "farm": "Hollow Farm",
        "place": "row 4, tree 12",
        "parts": (("body", "B7"), ("funnel", "F2"), ("lid", "L3")),
        "set_on": None,
        **more,
    }
    return TrapLabel(trap=trap, **values)


def read_code(drawn: str) -> list[tuple[str, str]]:
    """Every code in a drawing, as another library reads it: its kind, and what it holds."""
    sized = drawn.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1)
    # The function beneath is not made small for tests.
    picture = bytes(resvg_py.resvg_py.svg_to_bytes(svg_string=sized, width=220, background="white"))
    width, height, rows, _ = png.Reader(file=BytesIO(picture)).asRGBA8()
    pixels = (
        np.vstack([np.frombuffer(bytes(row), dtype=np.uint8) for row in rows])
        .reshape(height, width, 4)[:, :, :3]
        .copy()
    )
    return [(str(found.format).split(".")[-1].replace(" ", ""), found.text) for found in zxingcpp.read_barcodes(pixels)]


# --- the code ---


@pytest.mark.parametrize("trap", ["A1", "K10", "HF-N-CM-01", "a b/c", "Ä7", "蛾1", "㮂0", "滑s", "x" * 60, "'<&>\"'"])
def test_the_code_holds_the_traps_label_and_nothing_else(trap: str) -> None:
    """Written by segno to ISO/IEC 18004, read by zxing-cpp, which shares no code with it."""
    assert read_code(code_svg(trap)) == [("QRCode", trap)]


@settings(max_examples=8, deadline=None)
@given(st.text(st.characters(exclude_categories=("C", "Z")), min_size=1, max_size=20))
def test_the_code_of_any_label_reads_back(trap: str) -> None:
    assert [text for _, text in read_code(code_svg(trap))] == [trap]


def test_every_label_of_a_sheet_has_its_own_code() -> None:
    page = labels_html([label(f"A{n}") for n in range(1, 5)], SHEETS["a4-3x7"])
    drawn = re.findall(r"<svg .*?</svg>", page)
    assert [text for one in drawn for _, text in read_code(one)] == ["A1", "A2", "A3", "A4"]


# --- what stands on it ---


def orchard(*traps: Trap) -> Programme:
    blocks = {"N": Block("N", "HF", "North Slope", "apple")}
    return Programme(farms={"HF": Farm("HF", "Hollow Farm")}, blocks=blocks, traps=traps)


def hung(trap: str, hung_on: date, down_on: date | None = None, **more: Any) -> Trap:
    return Trap(trap, "N", "CM", row="4", tree="12", hung_on=hung_on, down_on=down_on, **more)


def test_a_trap_that_hangs_says_since_when_and_one_to_be_hung_leaves_the_day_free() -> None:
    known = orchard(hung("A10", date(2026, 4, 22), body_label="B7"), hung("A2", date(2025, 4, 22), date(2025, 9, 30)))
    down, hangs = trap_labels(known, DAY)
    assert (down.trap, down.set_on) == ("A2", None)
    assert (hangs.trap, hangs.set_on, hangs.parts) == ("A10", date(2026, 4, 22), (("body", "B7"),))
    text = labels_text([down, hangs])
    assert f"set on {BLANK}" in text
    assert "set on 2026-04-22" in text
    assert "block N North Slope" in text
    assert "row 4, tree 12, Hollow Farm" in text
    assert "CM codling moth" in text


def test_a_label_bears_the_number_of_the_block() -> None:
    known = orchard(hung("A10", date(2026, 4, 22)))
    block = replace(known.blocks["N"], unit_no="U-1")
    (shown,) = trap_labels(replace(known, blocks={"N": block}), DAY)
    assert shown.block == "N North Slope, unit U-1"


def test_a_trap_taken_down_years_ago_has_no_label_unless_it_is_named() -> None:
    known = orchard(hung("OLD", date(2023, 4, 22), date(2023, 9, 30)))
    assert trap_labels(known, DAY) == ()
    assert [one.trap for one in trap_labels(known, DAY, chosen=("OLD",))] == ["OLD"]


def test_a_trap_put_together_since_bears_its_new_parts() -> None:
    put = [
        Assembled(trap="A1", species="CM", assembled_on=date(2026, 4, 1), body_label="B1", lid_label="L1", id="1"),
        Assembled(trap="A1", species="CM", assembled_on=date(2026, 4, 8), body_label="B2", id="2"),
        Assembled(trap="Z9", species="OFM", assembled_on=date(2026, 4, 8), body_label="B9", id="3"),
    ]
    known = orchard(hung("A1", date(2025, 4, 22), date(2025, 9, 30), body_label="B0"))
    again, fresh = trap_labels(known, DAY, put)
    assert again.parts == (("body", "B2"),)
    assert (fresh.trap, fresh.species, fresh.block, fresh.parts) == ("Z9", "OFM", "", (("body", "B9"),))


# --- the sheet ---


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=lambda sheet: sheet.size)
def test_labels_stand_on_the_paper_and_not_on_each_other(sheet: LabelSheet) -> None:
    (paper_w, paper_h), (width, height) = sheet.paper_mm, sheet.label_mm
    places = [sheet.place(at) for at in range(sheet.each)]
    assert len(set(places)) == sheet.each == sheet.columns * sheet.rows
    for left, top in places:
        assert 0 <= left <= paper_w - width + 0.01
        assert 0 <= top <= paper_h - height + 0.01
    assert sheet.pitch_mm[0] >= width
    assert sheet.pitch_mm[1] >= height


def test_a_traps_own_label_is_never_cut_whatever_else_is() -> None:
    trap = "HOLLOW-NORTH-CM-0001-EDGE-OF-THE-WOOD"
    page = labels_html([label(trap, farm="x" * 200)], SHEETS["letter-3x10"])
    assert f">{trap}</p>" in page
    assert "x" * 60 not in page


class _Seen(HTMLParser):
    """Elements and attributes of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.elements: list[str] = []
        self.attributes: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append(tag)
        self.attributes.update(name for name, _ in attrs)


@pytest.mark.parametrize("words", WORST)
def test_hostile_text_is_inert(words: str) -> None:
    every = dict.fromkeys(("species", "species_name", "block", "farm", "place"), words)
    hostile = label(words[:60] or "A1", **every, parts=((("body", words),)))
    seen, clean = _Seen(), _Seen()
    seen.feed(labels_html([hostile], SHEETS["a4-3x7"]))
    clean.feed(labels_html([label()], SHEETS["a4-3x7"]))
    assert set(seen.elements) == set(clean.elements)
    assert seen.attributes == clean.attributes
    assert "\x1b" not in labels_text([hostile])


@pytest.fixture(scope="module")
def page() -> Iterator[Any]:
    """One tab of one browser for all pages; it is the system's, none is fetched."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as started:
        browser = started.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        yield browser.new_page()
        browser.close()


class TestInABrowser:
    """Pages as they are printed."""

    pytestmark = in_browser

    @pytest.mark.parametrize("sheet", SHEETS.values(), ids=lambda sheet: sheet.size)
    def test_a_page_is_quiet_whole_and_prints_on_as_many_sheets_as_it_has(
        self, page: Any, sheet: LabelSheet, tmp_path: Path
    ) -> None:
        from axe_playwright_python.sync_playwright import Axe

        number = sheet.each + 1
        labels = [label(f"A{n}", species_name="greater peachtree borer") for n in range(number)]
        labels[0] = label("HOLLOW-NORTH-CM-0001-EDGE")
        written = tmp_path / "labels.html"
        written.write_text(labels_html(labels, sheet), encoding="utf-8")
        said: list[str] = []
        asked: list[str] = []
        page.on("console", lambda message: said.append(message.text))
        page.on("pageerror", lambda error: said.append(str(error)))
        page.on("request", lambda request: asked.append(request.url))
        page.goto(written.as_uri())
        assert (said, asked) == ([], [written.as_uri()])
        if sheet is SHEETS[USUAL_SHEET]:
            # What it looks at, as colours and names, is the same on every sheet.
            found = Axe().run(page, options={"resultTypes": ["violations"]}).response["violations"]
            assert [one["id"] for one in found] == []
        # Nothing of a label is cut: neither its own label nor the line for the day.
        cut = page.evaluate(
            "[...document.querySelectorAll('.label > div')].filter(d => d.scrollHeight > d.parentElement.clientHeight)"
            ".map(d => d.textContent)"
        )
        assert cut == []
        titles = page.evaluate(
            "[...document.querySelectorAll('.trap')].filter(p => p.scrollWidth > p.clientWidth).map(p => p.textContent)"
        )
        assert titles == []
        printed = tmp_path / "labels.pdf"
        page.pdf(path=str(printed), prefer_css_page_size=True)
        notified = subprocess.run(["pdfinfo", str(printed)], check=True, capture_output=True, text=True).stdout
        assert "Pages:           2\n" in notified
        width, height = (float(number) for number in re.findall(r"Page size: +([\d.]+) x ([\d.]+)", notified)[0])
        assert (width, height) == pytest.approx([mm / 25.4 * 72 for mm in sheet.paper_mm], abs=1)


def test_a_folder_writes_its_labels(store: Any, tmp_path: Path) -> None:
    from roundtui.report.traps.labels import write_labels

    assert write_labels(store, DAY, tmp_path / "l.html") == 4
    assert write_labels(store, DAY, tmp_path / "l.txt", chosen=("A4",)) == 1
    assert (tmp_path / "l.txt").read_text(encoding="utf-8").startswith("A4\n  OFM oriental fruit moth\n")
