"""The blank sheet for the clipboard, as text and as HTML."""

from __future__ import annotations

import csv
import re
from contextlib import closing
from datetime import date
from html.parser import HTMLParser
from pathlib import Path

from roundtui.domain.paper.double_entry import SheetOrder
from roundtui.domain.paper.sheet import Paper, PaperBlock, PaperRow
from roundtui.report.paper import PAGE_LINES, WIDTH, sheet_html, sheet_text
from roundtui.store.folder import open_folder
from roundtui.store.record.journal import Author, record
from tests.cli.test_cli import TODAY, TRAPS, run
from tests.conftest import NOW, MakeFolder

EVIL = '<script>alert("x")</script>[/]\x1b[2J\u202e'


def rows(text: str) -> list[str]:
    """Labels of the sheet's rows, in order."""
    return re.findall(r"^ *\d+ (\S+)", text, re.MULTILINE)


def test_the_sheet_has_a_row_a_trap_with_what_it_showed_last(make_folder: MakeFolder, tmp_path: Path) -> None:
    folder = make_folder(traps=TRAPS)
    tally = tmp_path / "tally.csv"
    tally.write_text(f"trap,read_on,count,no_reading\nA1,{TODAY},4,\nA2,{TODAY},,down\n", encoding="utf-8")
    assert run("enter", folder, tally, "--scout", "Ada").code == 0
    day = date.fromordinal(TODAY.toordinal() + 7)
    done = run("sheet", folder, "--route", "home", "--on", day)
    assert done.code == 0
    assert rows(done.out) == ["A1", "A2", "A3", "A4"]
    assert re.search(r"^ *1 A1 +CM +4 ", done.out, re.MULTILINE)
    assert re.search(r"^ *2 A2 +CM +down ", done.out, re.MULTILINE)
    for words in ("Hollow Farm", "entry interval checked", "stage ____", "Total to row 4", "0 is a count", "Gloves"):
        assert words in done.out


def test_its_order_is_that_of_the_tally_sheet(make_folder: MakeFolder) -> None:
    folder = make_folder(traps=TRAPS)
    with closing(open_folder(folder, now=NOW).conn) as conn:
        record(conn, [SheetOrder(route="home", traps='["A4", "A1"]')], Author("Ada", "truck"), NOW)
    assert rows(run("sheet", folder, "--route", "home").out) == ["A4", "A1", "A2", "A3"]


def test_it_is_written_to_a_file_and_an_unknown_route_is_said(make_folder: MakeFolder, tmp_path: Path) -> None:
    folder = make_folder(traps=TRAPS)
    page = tmp_path / "home.html"
    done = run("sheet", folder, "--route", "home", "--to", page)
    assert (done.code, done.out) == (0, "")
    assert page.read_text(encoding="utf-8").count("<tr>") == 5, "the head and four traps"
    assert run("sheet", folder, "--route", "home", "--to", page / "such.txt").code == 1
    assert "did you mean home?" in run("sheet", folder, "--route", "hoem").err


def forty(label: str = "T{}") -> Paper:
    sheet = [PaperRow(label.format(at), "CM", "row 3, tree 7", "12", ("lure", "liner in 3 d")) for at in range(40)]
    blocks = [
        PaperBlock("Farm", f"B{n}", "NO ENTRY before 2031-06-09", tuple(sheet[n * 8 : n * 8 + 8])) for n in range(5)
    ]
    return Paper("hill", date(2031, 6, 3), tuple(blocks))


def test_pages_of_text_fit_a4_and_letter_and_each_has_its_totals() -> None:
    pages = sheet_text(forty()).split("\f")
    assert len(pages) == 3
    for page in pages:
        lines = page.rstrip("\n").split("\n")
        assert len(lines) <= PAGE_LINES
        assert max(map(len, lines)) <= WIDTH
        assert "Total to row" in page
    assert rows("\n".join(pages)) == [f"T{at}" for at in range(40)]
    assert "Total to row 40" in pages[-1]


class Reader(HTMLParser):
    """Tags that would fetch or run something, and the text."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.fetched: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.fetched += [value or "" for name, value in attrs if name in ("src", "href", "onload", "onclick")]


def test_the_page_needs_nothing_else_and_runs_nothing_whatever_the_names_hold() -> None:
    for text in (sheet_html(forty(EVIL + "{}")), sheet_html(forty())):
        reader = Reader()
        reader.feed(text)
        assert reader.tags.isdisjoint({"script", "img", "link", "iframe", "object"})
        assert (reader.fetched, "url(" in text, "@import" in text) == ([], False, False)
        assert not set("\x1b\u202e") & set(text)
        assert set(re.findall(r"#[0-9a-f]{3,6}", text)) <= {"#000", "#fff", "#9744"}
    assert not set("\x1b\u202e") & set(sheet_text(forty(EVIL + "{}")))


def test_every_row_of_the_sample_s_route_is_on_its_sheet(tmp_path: Path) -> None:
    from tests.conftest import ready_demo

    demo = ready_demo(tmp_path / "demo")
    with (demo.folder / "routes.csv").open(encoding="utf-8", newline="") as file:
        south = [row["trap"] for row in csv.DictReader(file) if row["route"] == "south"]
    assert rows(run("sheet", demo.folder, "--route", "south", "--on", demo.on).out) == south
