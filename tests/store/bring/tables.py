# ruff: noqa: DTZ001
"""Thirty tables as offices have them, by hand and by a spreadsheet library: one invented programme in all of them."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Sequence
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

Cell = object
DAYS = tuple(date(2026, 4, 27) + timedelta(days=7 * week) for week in range(4))
"""Mondays on which the invented scout read."""
TRAPS = {"A1": (3, 0, 5, 7), "A2": (0, 0, None, 2), "A3": (12, "missing", 1, 0), "B1": (0, 1, 14, 3)}
"""What each trap showed: a count, a reason, or nothing."""
EXPECTED = {
    (trap, str(day)): said
    for trap, row in TRAPS.items()
    for day, said in zip(DAYS, row, strict=True)
    if said is not None
}
"""The same as entries."""
BLOCK = {"A1": "N", "A2": "N", "A3": "N", "B1": "S"}
WORDS = {"en": "missing", "de": "weg", "fr": "perdu", "es": "perdida"}
NOTHING = {"en": "n/a", "de": "k.A.", "fr": "", "es": "s/d"}


def said(value: object, language: str) -> Cell:
    if value is None:
        return NOTHING[language]
    return WORDS[language] if value == "missing" else value


def text(rows: Sequence[Sequence[Cell]], separator: str = ",") -> str:
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=separator).writerows(rows)
    return out.getvalue()


def book(path: Path, sheets: dict[str, Sequence[Sequence[Cell]]], merged: Sequence[str] = ()) -> None:
    from openpyxl import Workbook

    made = Workbook()
    made.remove(made.active)
    for title, rows in sheets.items():
        sheet: Any = made.create_sheet(title)
        for row in rows:
            sheet.append(list(row))
        for cells in merged:
            sheet.merge_cells(cells)
    made.save(path)


def long(head: Sequence[str], language: str, day: Callable[[date], Cell]) -> list[list[Cell]]:
    rows: list[list[Cell]] = [list(head)]
    for at, on in enumerate(DAYS):
        rows += [[day(on), trap, said(row[at], language)] for trap, row in TRAPS.items()]
    return rows


def wide(corner: str, language: str, day: Callable[[date], Cell]) -> list[list[Cell]]:
    rows: list[list[Cell]] = [[corner, *TRAPS]]
    return rows + [[day(on), *(said(row[at], language) for row in TRAPS.values())] for at, on in enumerate(DAYS)]


def across(corner: Sequence[str], language: str, day: Callable[[date], Cell]) -> list[list[Cell]]:
    rows: list[list[Cell]] = [[*corner, *(day(on) for on in DAYS)]]
    for trap, row in TRAPS.items():
        before = [BLOCK[trap], trap] if len(corner) == 2 else [trap]
        rows.append([*before, *(said(value, language) for value in row)])
    return rows


def iso(on: date) -> str:
    return on.isoformat()


def dotted(on: date) -> str:
    return f"{on.day}.{on.month}.{on.year}"


def slashed(on: date) -> str:
    return f"{on:%d/%m/%Y}"


def american(on: date) -> str:
    return f"{on.month}/{on.day}/{on.year}"


def serial(on: date) -> int:
    return (on - date(1899, 12, 30)).days


GERMAN = {4: "April", 5: "Mai"}
FRENCH = {4: "avril", 5: "mai"}
SPANISH = {4: "abril", 5: "mayo"}


def counts(folder: Path) -> list[Path]:
    """Twenty-three tables of the same counts."""
    made: list[Path] = []

    def put(name: str, content: str, encoding: str = "utf-8") -> None:
        made.append(folder / name)
        made[-1].write_bytes(content.encode(encoding))

    def sheet(name: str, sheets: dict[str, Sequence[Sequence[Cell]]], merged: Sequence[str] = ()) -> None:
        made.append(folder / name)
        book(made[-1], sheets, merged)

    put("01-long.csv", text(long(("date", "trap", "count"), "en", iso)))
    put("02-lang.csv", text(long(("Datum", "Falle", "Fänge"), "de", dotted), ";"), "latin-1")
    put("03-releves.csv", text(long(("Date relevé", "Piège", "Captures"), "fr", slashed), ";"), "utf-16")
    put("04-conteos.txt", text(long(("Fecha", "Trampa", "Capturas"), "es", slashed), "\t"))
    put("05-american.csv", text(long(("Date checked", "Trap ID", "Catch"), "en", american)))
    put("06-bars.csv", text(long(("Date", "Trap", "Moths"), "en", iso), "|"), "utf-8-sig")
    title = [["Scouting 2026 (invented)"], [], ["printed", datetime(2026, 6, 1, 12, 0)], []]
    sheet("07-titled.xlsx", {"Counts": [*title, *long(("Date", "Trap", "Count"), "en", lambda on: on)]})
    rows = long(("Date", "Trap", "Count"), "en", lambda on: on)
    sheet(
        "08-sheets.xlsx", {"April": rows[:5], "May": [rows[0], *rows[5:]], "Read me": [["made by", "the office"]] * 3}
    )
    put("09-months.csv", text(long(("Date", "Trap", "Count"), "en", lambda on: f"{on:%d-%b-%Y}")))
    put(
        "10-monate.csv",
        text(long(("Datum", "Fallen-Nr.", "Anzahl"), "de", lambda on: f"{on.day}. {GERMAN[on.month]} {on.year}")),
    )
    put(
        "11-mois.csv",
        text(long(("Jour", "N° piège", "Prises"), "fr", lambda on: f"{on.day} {FRENCH[on.month]} {on.year}"), ";"),
    )
    put("12-numbers.csv", text(long(("Date", "Trap", "Count"), "en", serial)))
    put("13-short.csv", text(long(("Datum", "Falle", "Falter"), "de", lambda on: f"{on:%d.%m.%y}"), ";"))
    put("14-wide.csv", text(wide("Date", "en", iso)))
    sums: list[list[Cell]] = [[*row, "Summe" if at == 0 else 99] for at, row in enumerate(wide("Datum", "de", dotted))]
    put("15-breit.csv", text([*sums, ["Summe", 99, 99, 99, 99, 99]], ";"), "latin-1")
    merged: list[list[Cell]] = [["Week", "A", None, None, "B"], [None, 1, 2, 3, 1]]
    merged += [[on, *(said(row[at], "en") for row in TRAPS.values())] for at, on in enumerate(DAYS)]
    sheet("16-merged.xlsx", {"2026": merged}, ("B1:D1", "A1:A2"))
    put("17-across.csv", text(across(("Block", "Trap"), "en", iso)))
    bare = across(("Falle",), "de", lambda on: f"{on.day}.{on.month}.")
    put("18-ohne-jahr.csv", text([["Fallenfänge Saison 2026 (erfunden)"], [], *bare], ";"))
    sheet("19-across.xlsx", {"Season": across(("Trap",), "en", lambda on: datetime(on.year, on.month, on.day))})
    gaps = [[row[0], "", *row[1:3], "", *row[3:], ""] for row in wide("Fecha", "es", slashed)]
    put("20-huecos.csv", text([gaps[0], [""] * 8, *gaps[1:3], [""] * 8, *gaps[3:], [""] * 8], ";"))
    noted = [
        [*row, "Remarks" if at == 0 else "windy"]
        for at, row in enumerate(wide("Check date", "en", lambda on: f"{on:%a %d %b %Y}"))
    ]
    put("21-remarks.csv", text(noted))
    halves = [[f"{cell}.0" if isinstance(cell, int) else cell for cell in row] for row in wide("date", "en", iso)]
    put("22-decimals.csv", text(halves))
    marked = [
        [f"{cell} l" if cell == 14 else cell for cell in row]
        for row in wide("Datum", "de", lambda on: f"Mo {dotted(on)}")
    ]
    put("23-notation.csv", text(marked, ";"))
    return made


def set_up(folder: Path) -> list[tuple[str, Path]]:
    """Five tables that make one programme, each in another language or form."""
    made = [
        ("farms", folder / "24-betriebe.csv"),
        ("blocks", folder / "25-parcelles.csv"),
        ("lots", folder / "26-lots.csv"),
        ("traps", folder / "27-trampas.xlsx"),
        ("routes", folder / "28-route.csv"),
    ]
    made[0][1].write_bytes(
        text(
            [
                ["Betriebe (erfunden)"],
                [],
                ["Betriebsnr.", "Betriebsname", "Betriebsleiter", "Telefon"],
                ["MB", "Mühlbach", "Jörg Weißdorn", "555-0101"],
                ["OB", "Oberfeld", "Ute Ährling", "555-0102"],
            ],
            ";",
        ).encode("cp1252")
    )
    made[1][1].write_bytes(
        text(
            [
                ["Parcelle", "Exploitation", "Culture", "Variété", "Surface (ha)", "Confusion"],
                ["N", "Mühlbach", "apple", "", "2,5", "oui"],
                ["S", "OB", "pear", "", "1,25", "non"],
            ],
            ";",
        ).encode("utf-16")
    )
    made[2][1].write_text(
        text(
            [
                ["Lot", "Pest", "Load (mg)", "Field life (days)", "Bought"],
                ["C-1", "codling moth", "1 mg", "42", "3/15/2026"],
            ]
        )
    )
    book(
        made[3][1],
        {
            "Trampas": [
                ["Trampa", "Cuartel", "Plaga", "Tipo", "Fecha colocación", "Borde", "Lote"],
                ["A1..A3", "N", "carpocapsa", "delta", datetime(2026, 4, 20), "no", "C-1"],
                ["B1", "S", "Cydia molesta", "delta", datetime(2026, 4, 20), "sí", None],
            ]
        },
    )
    made[4][1].write_text(
        text([["Tour", "Reihenfolge", "Falle"], ["east", 1, "B1"], ["east", 2, "A1"], ["east", 3, "a 2"]])
    )
    return made


LOWS = (4.5, 6.0, -1.2)
HIGHS = (15.0, 18.4, 9.9)


def weather(folder: Path) -> list[Path]:
    """Two tables of temperatures: days with a comma before the decimals, and hours of a spreadsheet."""
    days = folder / "29-wetter.csv"
    rows: list[list[Cell]] = [["Datum", "T min (°C)", "T max (°C)", "Regen"]]
    for at, (low, high) in enumerate(zip(LOWS, HIGHS, strict=True)):
        rows.append([f"{at + 1}.5.2026", str(low).replace(".", ","), str(high).replace(".", ","), "0,4"])
    days.write_bytes(text(rows, ";").encode("latin-1"))
    hours = folder / "30-hourly.xlsx"
    moments = [[datetime(2026, 5, day, hour), 40 + hour + day] for day in (1, 2) for hour in range(24)]
    book(hours, {"Logger": [["Timestamp", "Air temp (°F)"], *moments]})
    return [days, hours]
