"""Routes for a hand-held device: the traps that hang and have coordinates, in walking order."""

from __future__ import annotations

from datetime import UTC, date, datetime
from xml.etree import ElementTree

import gpxpy
from hypothesis import given

from roundtui.domain.programme.farm import Block, Farm, Programme, Stop, Trap
from roundtui.report.open_files import NAMESPACE, route_file
from roundtui.store.csv_file import read_csv
from tests.hostile import texts
from tests.sample.make_sample import sample_files

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
    rows, problems = read_csv("traps.csv", sample_files()["traps.csv"].encode(), ("trap",), SAMPLE_COLUMNS)
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
