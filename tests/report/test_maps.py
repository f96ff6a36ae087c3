"""Where traps hang: routes for a hand-held device, maps for other programs, and maps drawn with characters."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from typing import Any
from xml.etree import ElementTree

import geojson as reader
import gpxpy
from hypothesis import given

from roundtui.domain.entries import Visit
from roundtui.domain.figures.history import History, Observations
from roundtui.domain.figures.rules import Office
from roundtui.domain.figures.summary import summarise
from roundtui.domain.programme.farm import Block, Farm, Programme, Stop, Trap
from roundtui.report.maps import area_map, block_map, means, places, spots
from roundtui.report.open_files import NAMESPACE, geojson, route_file
from roundtui.store.csv_file import read_csv
from roundtui.store.figures.summary import DaySummary
from tests.hostile import texts
from tests.sample.make_sample import FOLDER

NOW = datetime(2025, 7, 15, 18, 0, tzinfo=UTC)
ON = date(2025, 7, 15)


def programme(name: str = "home", **more: object) -> Programme:
    traps = (
        Trap("A1", "N", "CM", lat=-48.87, lon=-123.39, row="3", tree="7", hung_on=date(2025, 4, 1)),
        Trap("A2", "N", "CM", hung_on=date(2025, 4, 1)),
        Trap("A3", "N", "CM", lat=-48.8700001, lon=-123.4, hung_on=date(2025, 4, 1), **more),  # type: ignore[arg-type]
        Trap("A4", "N", "CM", lat=0, lon=0, hung_on=date(2024, 4, 1), down_on=date(2024, 9, 1)),
    )
    stops = tuple(Stop(name, at, trap) for at, trap in enumerate(("A3", "A2", "A1", "A4")))
    return Programme({"HF": Farm("HF", "Hollow")}, {"N": Block("N", "HF", "North", "apple")}, traps=traps, stops=stops)


def test_a_route_holds_its_traps_in_walking_order_and_says_what_is_missing() -> None:
    made = route_file(programme(), ON, NOW)
    (route,) = gpxpy.parse(made.content, version="1.1").routes
    assert route.name == "home"
    assert [(point.name, point.latitude, point.longitude) for point in route.points] == [
        ("A3", -48.8700001, -123.4),
        ("A1", -48.87, -123.39),
    ]
    assert route.points[1].description == "CM, N North, Hollow, row 3, tree 7"
    assert (made.placed, made.unplaced) == (2, ("A2",))


def test_the_sample_has_a_route_of_both_rounds_far_out_at_sea() -> None:
    rows, problems = read_csv("traps.csv", (FOLDER / "traps.csv").read_bytes(), ("trap",), SAMPLE_COLUMNS)
    assert problems == ()
    at_sea = [(float(r.values["lat"]), float(r.values["lon"])) for r in rows if r.values["lat"]]
    assert len(at_sea) > 50
    assert all(-49 < lat < -48.8 and -123.5 < lon < -123.3 for lat, lon in at_sea)


SAMPLE_COLUMNS = (
    *("block", "species", "style", "row", "tree", "hung_on", "down_on", "edge", "note", "lot", "lat", "lon"),
    "body_label",
)


def test_one_route_alone_and_none_at_all() -> None:
    assert route_file(programme(), ON, NOW, "home").placed == 2
    nothing = route_file(programme(), ON, NOW, "elsewhere")
    assert (nothing.placed, nothing.unplaced) == (0, ())
    assert gpxpy.parse(nothing.content).routes == []


@given(texts)
def test_hostile_words_stay_text(text: str) -> None:
    made = route_file(programme(text or "home", note=text), ON, NOW)
    root = ElementTree.fromstring(made.content)
    tags = {element.tag.removeprefix(f"{{{NAMESPACE}}}") for element in root.iter()}
    assert tags == {"gpx", "metadata", "name", "desc", "time", "rte", "number", "rtept", "type"}
    (route,) = gpxpy.parse(made.content).routes
    assert len(route.points) == 2
    assert not set(made.content) & set("\x00\x07\x1b\x7f\x85\u202e\u2066")


# --- GeoJSON ---------------------------------------------------------------------------------------------------------

READ = {"A1": 4, "A3": 0}


def made(farms: Programme, visits: dict[str, int] = READ, on: date = ON) -> DaySummary:
    """The summary of a programme whose traps were read a week ago, and on the day with some counts."""
    history = History(
        {
            trap: [
                Visit(id=f"{trap}{back}", trap=trap, read_on=on - timedelta(days=back), count=count) for back in (7, 0)
            ]
            for trap, count in visits.items()
        }
    )
    office = Office(())
    return DaySummary(summarise(farms, history, office, on), farms, history, Observations(), office)


def check_rfc_7946(text: str) -> list[dict[str, Any]]:
    """Hold a feature collection against the rules of RFC 7946, The GeoJSON Format, August 2016; its features."""
    found = json.loads(text)
    assert found["type"] == "FeatureCollection"  # 3.3: features is an array
    assert "crs" not in text  # 4: the reference system is WGS 84, and no member says another
    assert "\ufeff" not in text
    assert text.encode().decode("utf-8") == text
    assert not {"geometry", "properties", "coordinates", "geometries"} & found.keys()  # 7.1: no member of another type
    for one in found["features"]:
        assert (one["type"], type(one["id"]), type(one["properties"])) == ("Feature", str, dict)  # 3.2
        geometry = one["geometry"]
        assert geometry.keys() == {"type", "coordinates"}  # 3.1; 7.1: no feature in a geometry
        points, lines = [geometry["coordinates"]], []
        if geometry["type"] != "Point":
            lines = [geometry["coordinates"]] if geometry["type"] == "LineString" else geometry["coordinates"]
            points = [point for line in lines for point in line]
        for lon, lat in points:  # 3.1.1: longitude first, then latitude; 4: decimal degrees
            assert -180 <= lon <= 180
            assert -90 <= lat <= 90
            assert max(len(repr(lon).partition(".")[2]), len(repr(lat).partition(".")[2])) <= 6 or "e" in repr(
                (lon, lat)
            )
        for line in lines:
            assert len(line) >= 2  # 3.1.4
            assert all(abs(one[0] - other[0]) <= 180 for one, other in pairwise(line))  # 3.1.9: cut at the antimeridian
        # 3.1.6, the right-hand rule, is about polygons: where a block ends nobody wrote down, and none is drawn.
        assert geometry["type"] in ("Point", "LineString", "MultiLineString")
    # A second reader: the library geojson 3.3 of PyPI finds nothing wrong either.
    assert reader.loads(text).is_valid, reader.loads(text).errors()
    return list(found["features"])


def test_a_map_for_other_programs_keeps_the_rules_of_its_format_and_says_catch_and_status() -> None:
    done = geojson(made(programme()))
    features = {one["id"]: one for one in check_rfc_7946(done.content)}
    assert features.keys() == {"A1", "A3", "route home"}
    first = features["A1"]
    assert first["geometry"] == {"type": "Point", "coordinates": [-123.39, -48.87]}
    assert first["properties"] == {
        "on": "2025-07-15",
        "trap": "A1",
        "block": "N",
        "species": "CM",
        "row": "3",
        "tree": "7",
        "farm": "HF",
        "edge": False,
        "catch_per_week": 4.0,
        "read_on": "2025-07-15",
        "days": 7,
        "not_read": None,
        "suspect": None,
        "block_mean_per_week": 2.0,
        "block_status": "no-rule",
        "band": None,
        "rule": None,
    }
    assert features["A3"]["properties"]["catch_per_week"] == 0.0  # A zero is no blank.
    assert features["route home"]["geometry"]["coordinates"] == [[-123.4, -48.87], [-123.39, -48.87]]
    assert (done.placed, done.unplaced) == (2, ("A2",))
    unread = {one["id"]: one for one in check_rfc_7946(geojson(made(programme(), {})).content)}
    assert unread["A1"]["properties"]["catch_per_week"] is None


def test_a_route_over_the_180th_meridian_is_cut_there_and_drawn_as_short_as_it_is() -> None:
    traps = tuple(
        Trap(label, "N", "CM", lat=lat, lon=lon, hung_on=date(2025, 4, 1))
        for label, lat, lon in (("A1", -16.0, 179.9), ("A2", -17.0, -179.9), ("A3", -17.0, -179.8))
    )
    stops = tuple(Stop("home", at, trap.trap) for at, trap in enumerate(traps))
    over = replace(programme(), traps=traps, stops=stops)
    (line,) = [one for one in check_rfc_7946(geojson(made(over, {})).content) if one["id"] == "route home"]
    assert line["geometry"]["coordinates"] == [
        [[179.9, -16.0], [180.0, -16.5]],
        [[-180.0, -16.5], [-179.9, -17.0], [-179.8, -17.0]],
    ]
    assert max(east for east, _ in places(spots(over, History(), ON, {"N"})).values()) < 33_000


def test_one_farms_map_holds_no_trap_and_no_way_of_another() -> None:
    other = Trap("ZZ9", "S", "CM", lat=-48.123456, lon=-123.654321, hung_on=date(2025, 4, 1))
    farms = {"HF": Farm("HF", "Hollow"), "ZF": Farm("ZF", "Zenith")}
    blocks = {"N": Block("N", "HF", "North", "apple"), "S": Block("S", "ZF", "South", "apple")}
    both = Programme(
        farms, blocks, traps=(*programme().traps, other), stops=(*programme().stops, Stop("home", 9, "ZZ9"))
    )
    alone = geojson(made(both), farm="HF")
    assert {one["id"] for one in check_rfc_7946(alone.content)} == {"A1", "A3"}
    assert not any(word in alone.content for word in ("ZZ9", "ZF", "48.123", "123.654"))
    assert "ZZ9" in geojson(made(both)).content


@given(texts)
def test_hostile_words_stay_text_in_a_map_too(text: str) -> None:
    check_rfc_7946(geojson(made(programme(text or "home"))).content)


# --- maps ------------------------------------------------------------------------------------------------------------


def test_a_block_is_drawn_by_rows_and_trees_and_says_where_to_write_what_is_missing() -> None:
    hung = date(2025, 4, 1)
    traps = (
        Trap("A1", "N", "CM", row="3", tree="7", hung_on=hung),
        Trap("A3", "N", "CM", row="9", tree="20", edge=True, hung_on=hung),
        Trap("A4", "N", "CM", hung_on=hung),
    )
    home = replace(programme(), traps=traps, stops=())
    found = spots(home, made(home).history, ON, {"N"})
    lines = block_map(found, 78, 12)
    assert [line for line in lines if "A1" in line] == [lines[1]]
    assert lines[1].startswith("     7 │A1 CM 4.0 ")
    assert lines[-3].startswith("    20 │")
    assert "e:A3 CM 0.0" in lines[-3]
    assert lines[-2].split() == ["row", "3", "9"]
    assert lines[-1] == "  No row and tree (traps.csv, or m e): A4 ·"
    assert means(found) == "CM inside 4.0 (1 of 2)   CM edge 0.0 (1 of 1)"
    assert all(len(line) <= 78 for line in lines)


def test_in_little_room_no_trap_stands_on_the_line_of_a_tree_that_is_not_its_own() -> None:
    trees = {"K1": (4, 12), "K2": (9, 20), "K3": (14, 9), "K4": (6, 15), "K5": (19, 3), "K6": (19, 4)}
    traps = tuple(
        Trap(label, "N", "CM", row=str(row), tree=str(tree), hung_on=date(2025, 4, 1))
        for label, (row, tree) in trees.items()
    )
    home = replace(programme(), traps=traps, stops=())
    found = spots(home, made(home).history, ON, {"N"})
    for height in range(5, 20):
        lines = block_map(found, 74, height)
        assert len(lines) <= height
        for label, (_, tree) in trees.items():
            line = next(line for line in lines if label in line)
            side = [int(one) for one in line.split("│")[0].split("–")]
            assert side[0] <= tree <= side[-1], f"{label} at {height} lines:\n{line}"
            assert len(side) == 1 or height < 9
    traps = tuple(replace(one, row="4", tree="12") for one in traps)
    found = spots(replace(home, traps=traps), made(home).history, ON, {"N"})
    assert "─ no room for K4 CM ·, K5 CM ·, K6 CM · ─" in block_map(found, 74, 6)[0]


def test_the_area_is_drawn_by_coordinates_as_wide_as_high_with_every_block_in_its_list() -> None:
    hung = date(2025, 4, 1)
    # About a kilometre each way: a hundredth of a degree of latitude north, and as far east at 60 degrees.
    corners = (("A1", 60.0, 20.0), ("A2", 60.01, 20.0), ("A3", 60.0, 20.02), ("A4", None, None))
    traps = tuple(Trap(t, f"B{t}", "CM", lat=lat, lon=lon, hung_on=hung) for t, lat, lon in corners)
    blocks = {f"B{t}": Block(f"B{t}", "HF", f"B{t}", "apple") for t, _, _ in corners}
    home = Programme({"HF": Farm("HF", "Hollow")}, blocks, traps=traps, stops=())
    day = made(home, {"A1": 4, "A3": 9})
    found = spots(home, day.history, ON, blocks)
    lines = [words for words, _ in area_map(found, day.summary.blocks, ("A1", "A2"), "BA3", (78, 16))]
    at = {
        word: (row, line.index(word))
        for row, line in enumerate(lines)
        for word in ("=BA1", "○BA2", "[=BA3]")
        if word in line
    }
    south, west = at["=BA1"][0] - at["○BA2"][0], at["[=BA3]"][1] - at["=BA1"][1]
    assert at["=BA1"][0] == at["[=BA3]"][0]
    assert at["=BA1"][1] == at["○BA2"][1]
    assert abs(west - 2 * south) <= 2  # A cell is twice as high as wide.
    assert sum("•" in line for line in lines[:-1]) == south - 1
    assert [line.split()[-4:] for line in lines if line.split()[-4:][:1] == [">BA3"]] == [[">BA3", "=", "CM", "9.0"]]
    assert any("1 km north up" in line or "500 m north up" in line for line in lines)
    assert lines[-1] == "  No lat and lon (traps.csv, or m e): A4 ·"
    low = [words for words, _ in area_map(found, day.summary.blocks, (), "BA3", (40, 16))]
    assert any(line.rstrip().endswith("= CM 9.0") for line in low), "no figure is cut"
    assert low[-2:] == ["  No lat and lon (traps.csv, or m e): A4", "  ·"], "and no trap without a place is cut"
