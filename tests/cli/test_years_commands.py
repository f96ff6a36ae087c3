"""Looking back at the command line: year against year, and a season's end as text, page and JSON."""

from __future__ import annotations

import json
from collections.abc import Sequence
from html.parser import HTMLParser
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from roundtui.cli import main
from tests.conftest import MakeFolder, ready_demo
from tests.hostile import WORST


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture(scope="module")
def farm(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return ready_demo(tmp_path_factory.mktemp("years") / "farm").folder


def test_years_of_a_block_say_the_same_in_words_and_as_json(farm: Path) -> None:
    said = json.loads(run("years", farm, "--species", "cm", "--block", "GATE", "--json").stdout)
    assert (said["block"], said["species"], said["by"], said["unit"]) == ("GATE", "CM", "date", None)
    assert [year["season"] for year in said["seasons"]] == [2023, 2024, 2025]
    now = said["seasons"][-1]
    assert (now["peak"]["per_week"], now["peak"]["on"], now["weeks_over"]) == (6.0, "2025-05-26", 2)
    words = run("years", farm, "--species", "CM", "--block", "GATE").stdout
    assert "2 of 12" in words
    assert "40.1" in words
    assert max(map(len, words.splitlines())) <= 80


def test_by_degree_days_the_table_fits_and_names_what_cannot_be_compared(farm: Path) -> None:
    words = run("years", farm, "--species", "OFM", "--block", "KILN", "--by", "degree-days").stdout
    assert "…" not in words
    assert max(map(len, words.splitlines())) <= 80
    assert "K5 was moved on Tue 10 Jun 2025" in " ".join(words.split())


def test_the_area_has_no_block(farm: Path) -> None:
    said = json.loads(run("years", farm, "--species", "CM", "--json").stdout)
    assert said["block"] is None
    assert len(said["seasons"][-1]["traps"]) == 28


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("years", "--species", "CM", "--block", "GTAE"), "there is no block GTAE"),
        (("season-end", "--farm", "MOOS"), "there is no farm MOOS"),
        (("season-end", "--season", "1999"), "no trap hung in the season 1999"),
    ],
)
def test_what_is_not_there_is_said(farm: Path, words: Sequence[str], message: str) -> None:
    done = run(words[0], farm, *words[1:])
    assert done.exit_code == 1
    assert done.stderr.startswith(message)


def test_a_species_without_traps(farm: Path) -> None:
    assert "No trap of the species has hung here." in run("years", farm, "--species", "DWB").stdout


def test_a_season_ends_for_the_programme_and_for_every_farm(farm: Path, tmp_path: Path) -> None:
    done = run("season-end", farm, "--season", "2024", "--to", tmp_path / "ends")
    assert done.exit_code == 0, done.stderr
    names = [f"season-2024-{code}" for code in ("DUSK", "FENN", "LARK", "MOSS", "PELL", "programme")]
    assert sorted(path.name for path in (tmp_path / "ends").iterdir()) == [
        f"{name}.{ending}" for name in names for ending in ("html", "json", "txt")
    ]
    said = json.loads((tmp_path / "ends" / "season-2024-programme.json").read_text())
    text = (tmp_path / "ends" / "season-2024-programme.txt").read_text()
    page = seen((tmp_path / "ends" / "season-2024-programme.html").read_text())
    for number in (said["readings"], said["moths"], said["weeks_over"], said["liners"]):
        assert f"{number} " in " ".join(text.split())
        assert f"{number} " in page
    assert said == json.loads(run("season-end", farm, "--season", "2024", "--json").stdout)
    assert text == run("season-end", farm, "--season", "2024").stdout[: len(text)]


def seen(page: str) -> str:
    """The words of a page; what is not text, an outside file above all, may not be there."""
    tags: list[tuple[str, dict[str, str | None]]] = []
    words: list[str] = []

    class Reader(HTMLParser):
        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            tags.append((tag, dict(attrs)))

        def handle_data(self, data: str) -> None:
            words.append(data)

    Reader().feed(page)
    assert not {tag for tag, _ in tags} & {"script", "img", "link", "iframe", "object"}
    assert not [attrs for _, attrs in tags if {"src", "href", "onclick", "onerror", "style"} & attrs.keys()]
    return " ".join(" ".join(words).split())


def test_hostile_names_are_only_words(make_folder: MakeFolder, tmp_path: Path) -> None:
    """Names of farms, blocks, scouts and lots that would be markup, templates or paths."""
    worst = "<script>alert(1)</script> {{ 7 * 7 }} {% include 'letter.css' %}"
    farms = f'farm,name,grower,phone\n../HF,"{worst}",x,\n'
    blocks = f'block,farm,name,crop\nN,../HF,"{worst}",apple\nS,../HF,South,apple\n'
    sheet = tmp_path / "sheet.csv"
    sheet.write_text("trap,read_on,count\nA1,2026-05-18,4\nA2,2026-05-18,0\n")
    folder = make_folder(farms=farms, blocks=blocks)
    assert run("enter", folder, sheet, "--scout", worst).exit_code == 0
    done = run("season-end", folder, "--season", "2026", "--to", tmp_path / "ends")
    assert done.exit_code == 0, done.stderr
    assert all(path.parent == tmp_path / "ends" for path in tmp_path.rglob("season-2026-*"))
    pages = [path.read_text() for path in (tmp_path / "ends").glob("*.html")]
    assert len(pages) == 2
    for page in pages:
        assert "alert(1)" in seen(page)
        assert "{{ 7 * 7 }}" in seen(page)


def test_the_worst_words_end_up_on_a_page_as_words(farm: Path) -> None:
    from dataclasses import replace

    from roundtui.domain.programme.farm import Farm, Programme
    from roundtui.domain.season.years import season_end
    from roundtui.report.letters.template import Templates
    from roundtui.report.season.season_end import season_end_page
    from tests.domain.test_season_end import SEASON, visit

    for words in WORST:
        known = Programme(farms={"F": Farm("F", words)})
        end = season_end(known, {}, (), SEASON, "F")
        end = replace(end, scouts=(words,), lures=(("CM", words, 2),), lost=((words, visit("A1", 0).read_on),))
        seen(season_end_page(end, known, Templates(), "html"))
        text = season_end_page(end, known, Templates(), "txt")
        assert not set(text) & set("\x00\x07\x1b\x7f\x85\u202e\u2066\r")
