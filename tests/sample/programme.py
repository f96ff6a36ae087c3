"""The invented programme: farms, blocks, stations, traps, routes and lots. No place, person or variety is real."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

RUNNING_DAY = date(2025, 7, 15)
"""Tuesday on which the sample opens: the north round is due, the south round was walked the day before."""

SEASONS = {
    2023: (date(2023, 4, 3), date(2023, 9, 25)),
    2024: (date(2024, 4, 1), date(2024, 9, 30)),
    2025: (date(2025, 4, 7), date(2025, 7, 14)),
}
"""Mondays of the first and the last south round of each season; the north round is a day later."""
LATE = {"south": 0, "north": 1}
SCOUTS = {"south": "Juno Hazelrigg", "north": "Perrin Alderquist"}

FARMS = """\
farm,name,grower,email,phone,visit_last
MOSS,Mossbarrow Orchards,Tamsin Quillfeather,tamsin@mossbarrow.example,555-0101,no
LARK,Larkenfell Farm,Odo Brambleward,odo@larkenfell.example,555-0102,no
PELL,Pellhurst Fruit,Wren Ostlewick,wren@pellhurst.example,555-0103,no
DUSK,Duskwater Farm,Ilse Thornevane,ilse@duskwater.example,555-0104,no
FENN,Fennimoor Gardens,Basil Underloft,basil@fennimoor.example,555-0105,yes
"""

BLOCKS = """\
block,farm,name,crop,variety,area_ha,disrupted,station,no_entry_before
KILN,MOSS,Kiln Field,apple,Rustwick Red,2.4,no,VALE,
LANE,MOSS,Long Lane,apple,Dapplecote,3.1,no,VALE,
OWLS,LARK,Owl Hollow,pear,Honeylantern,1.8,no,RIDG,
TARN,LARK,Tarn Side,apple,Rustwick Red,2.0,no,RIDG,
GATE,PELL,Gate Block,apple,Dapplecote,2.7,no,VALE,
MILL,PELL,Mill Bank,apple,Winterglow,3.6,no,VALE,2025-07-10
POND,DUSK,Pond Block,apple,Winterglow,4.2,yes,VALE,
BARN,DUSK,Old Barn,apple,Rustwick Red,1.5,no,VALE,
WALL,FENN,South Wall,peach,Lampglow,0.9,no,RIDG,
RISE,FENN,The Rise,apple,Dapplecote,1.7,no,RIDG,
"""

STATIONS = """\
station,name,lat,lon,elevation_m,timezone
VALE,Vale station (invented),40.1,-77.2,160,America/New_York
RIDG,Ridge station (invented),40.2,-77.3,310,America/New_York
"""

THRESHOLDS = """\
# Thresholds of the invented office. The numbers are made up to show every kind of rule: do not use them.
# Codling moth without disruption, April to July, is left to the rule that ships; so is apple maggot.

[season]
starts_on = "01-01"

[[rule]]
id = "cm-late"
species = "CM"
kind = "mean"
low = 2
high = 3
months = [8, 9]
disrupted = false
source = "invented for the sample office: second flight, stricter"
date = 2025-03-04

[[rule]]
id = "cm-disrupted-two-weeks"
species = "CM"
kind = "running"
weeks = 2
low = 0.5
high = 1
disrupted = true
load_mg = [10, 10]
source = "invented for the sample office: strong lures under disruption, two weeks running"
date = 2025-03-04

[[rule]]
id = "ofm-one-trap"
species = "OFM"
kind = "single-trap"
low = 10
high = 15
source = "invented for the sample office: any one trap"
date = 2025-03-04

[[rule]]
id = "oblr-since-hanging"
species = "OBLR"
kind = "cumulative"
since = "hanging"
low = 30
high = 60
after_treatment = "restart"
days = 0
source = "invented for the sample office: sum since hanging"
date = 2025-03-04

[[rule]]
id = "cm-since-biofix"
species = "CM"
kind = "cumulative"
since = "biofix"
low = 8
high = 12
months = [5]
load_mg = [0.1, 0.5]
disrupted = false
after_treatment = "hold"
degree_days = 100
source = "invented for the sample office: weak lures only, of which it has none"
date = 2025-03-04
"""

LURES = """\
lot,species,load_mg,life_days,note,bought_on,expires_on
CM23A,CM,1,42,,2023-03-01,2024-12-31
CM23X,CM,10,63,for disrupted blocks,2023-03-01,2024-12-31
OFM23A,OFM,0.1,42,,2023-03-01,2024-12-31
OBLR23A,OBLR,1,42,,2023-03-01,2024-12-31
AM23A,AM,,56,,2023-03-01,2024-12-31
GPTB23A,GPTB,1,63,,2023-03-01,2024-12-31
CM24A,CM,1,42,,2024-03-04,2025-03-31
CM24X,CM,10,63,for disrupted blocks,2024-03-04,2025-03-31
OFM24A,OFM,0.1,42,,2024-03-04,2025-03-31
OBLR24A,OBLR,1,42,,2024-03-04,2025-03-31
AM24A,AM,,56,,2024-03-04,2025-03-31
GPTB24A,GPTB,1,63,,2024-03-04,2025-03-31
CM25A,CM,1,42,,2025-03-03,2026-12-31
CM25X,CM,10,63,for disrupted blocks,2025-03-03,2026-12-31
OFM25A,OFM,0.1,42,,2025-03-03,2026-12-31
OBLR25A,OBLR,1,42,,2025-03-03,2026-12-31
AM25A,AM,,56,,2025-03-03,2026-12-31
GPTB25A,GPTB,1,63,,2025-03-03,2026-12-31
"""
LURE_LIFE = {"A": 42, "X": 63, "AM": 56, "GPTB": 63}


@dataclass(frozen=True, slots=True)
class Place:
    """Where a trap of the programme hangs, every year."""

    trap: str
    block: str
    species: str
    style: str
    row: int
    tree: int
    edge: bool = False
    body_label: str = ""


NORTH = (
    Place("K1", "KILN", "CM", "delta", 4, 12),
    Place("K2", "KILN", "CM", "delta", 9, 20),
    Place("K3", "KILN", "CM", "delta", 14, 9),
    Place("K4", "KILN", "OFM", "delta", 6, 15),
    Place("K5", "KILN", "OFM", "delta", 12, 18),
    Place("L1", "LANE", "CM", "delta", 3, 10),
    Place("L2", "LANE", "CM", "delta", 10, 22),
    Place("L3", "LANE", "CM", "delta", 17, 14),
    Place("L4", "LANE", "OBLR", "delta", 7, 8),
    Place("L5", "LANE", "OBLR", "delta", 13, 16),
    Place("O1", "OWLS", "CM", "delta", 2, 7),
    Place("O2", "OWLS", "CM", "delta", 6, 13),
    Place("O3", "OWLS", "CM", "delta", 10, 6),
    Place("T1", "TARN", "CM", "delta", 3, 9, body_label="TS-1"),
    Place("T2", "TARN", "CM", "delta", 8, 17, body_label="TS-2"),
    Place("T3", "TARN", "CM", "delta", 12, 5, body_label="TS-3"),
    Place("T4", "TARN", "AM", "sphere", 1, 4, edge=True),
    Place("T5", "TARN", "AM", "sphere", 1, 21, edge=True),
)
SOUTH = (
    Place("G1", "GATE", "CM", "delta", 4, 11),
    Place("G2", "GATE", "CM", "delta", 9, 19),
    Place("G3", "GATE", "CM", "delta", 15, 8),
    Place("G4", "GATE", "OFM", "delta", 6, 14),
    Place("G5", "GATE", "OFM", "delta", 11, 6),
    Place("G6", "GATE", "OFM", "delta", 16, 17),
    Place("M1", "MILL", "CM", "large-delta", 3, 9),
    Place("M2", "MILL", "CM", "large-delta", 9, 18),
    Place("M3", "MILL", "CM", "large-delta", 16, 12),
    Place("M4", "MILL", "CM", "large-delta", 1, 2, edge=True),
    Place("M5", "MILL", "OBLR", "delta", 7, 7),
    Place("M6", "MILL", "OBLR", "delta", 13, 15),
    Place("P1", "POND", "CM", "delta", 4, 10),
    Place("P2", "POND", "CM", "delta", 11, 21),
    Place("P3", "POND", "CM", "delta", 18, 9),
    Place("P10", "POND", "CM", "delta", 25, 16),
    Place("B1", "BARN", "CM", "delta", 2, 6),
    Place("B2", "BARN", "CM", "delta", 5, 12),
    Place("B3", "BARN", "CM", "delta", 8, 4),
    Place("B4", "BARN", "OBLR", "delta", 3, 9),
    Place("B5", "BARN", "OBLR", "delta", 6, 2),
    Place("B6", "BARN", "OBLR", "delta", 9, 11),
    Place("W1", "WALL", "OFM", "delta", 1, 5),
    Place("W2", "WALL", "OFM", "delta", 3, 11),
    Place("W3", "WALL", "OFM", "delta", 5, 4),
    Place("W4", "WALL", "GPTB", "bucket", 2, 8),
    Place("R1", "RISE", "CM", "delta", 2, 8),
    Place("R2", "RISE", "CM", "delta", 6, 14),
    Place("R3", "RISE", "CM", "delta", 10, 7),
    Place("R4", "RISE", "OFM", "delta", 7, 15),
)
ROUTES = {"north": NORTH, "south": SOUTH}

HUNG_IN_WEEK = {"OFM": 0, "CM": 2, "OBLR": 6, "GPTB": 8, "AM": 11}
"""Round of the season on which the traps of a species are hung, counted from 0."""


def rounds(year: int, route: str) -> list[date]:
    """Days of a route's rounds in a season."""
    first, last = SEASONS[year]
    late = timedelta(days=LATE[route])
    days = [first + timedelta(weeks=week) for week in range((last - first).days // 7 + 1)]
    # The north round of the running day is the one that is due.
    return [day + late for day in days if day + late < RUNNING_DAY]


def hung_on(year: int, place: Place, route: str) -> date:
    """Day on which a trap is hung in a season."""
    return rounds(year, route)[HUNG_IN_WEEK[place.species]]


def lot(year: int, place: Place) -> str:
    """Lot of the lures a trap gets in a season: strong ones in the disrupted block."""
    strong = place.block == "POND"
    return f"{place.species}{year % 100}{'X' if strong else 'A'}"


def lure_life(place: Place) -> int:
    """Days a lure of the trap's lot lasts. [d]"""
    return LURE_LIFE.get(place.species) or LURE_LIFE["X" if place.block == "POND" else "A"]


MOVED = ("K5", date(2025, 6, 10), 19, 3)
"""Trap moved within its block in the running season: label, day, new row and tree."""


AT_SEA = {
    "KILN": (-48.8700, -123.3900),
    "LANE": (-48.8724, -123.3900),
    "OWLS": (-48.8769, -123.3928),
    "TARN": (-48.8812, -123.3951),
    "GATE": (-48.8640, -123.3802),
    "MILL": (-48.8655, -123.3760),
    "BARN": (-48.8704, -123.3728),
    "WALL": (-48.8757, -123.3771),
    "RISE": (-48.8781, -123.3823),
}
"""Where the blocks with coordinates are said to begin: in the open Pacific, farther from land than any other place, so
that nobody takes it for an orchard. Nobody measured POND, so that the map shows what it says then."""
ROW_DEGREES, TREE_DEGREES = 0.00004, 0.00003


def position(block: str, row: int, tree: int) -> str:
    """Latitude and longitude of a tree as two cells; blank in a block without coordinates."""
    if block not in AT_SEA:
        return ","
    lat, lon = AT_SEA[block]
    return f"{lat - row * ROW_DEGREES:.5f},{lon + tree * TREE_DEGREES:.5f}"


def traps_csv() -> str:
    """The register: a row for each hanging of each trap."""
    lines = ["trap,block,species,style,row,tree,hung_on,down_on,edge,note,lot,lat,lon,body_label"]
    for year, (_, last_round) in SEASONS.items():
        running = year == RUNNING_DAY.year
        for route, places in ROUTES.items():
            down = "" if running else (last_round + timedelta(days=LATE[route])).isoformat()
            for place in places:
                hangings = [(place.row, place.tree, hung_on(year, place, route).isoformat(), down, "")]
                if running and place.trap == MOVED[0]:
                    _, day, row, tree = MOVED
                    moved = (row, tree, day.isoformat(), down, "moved: the first tree was pulled out")
                    hangings = [(*hangings[0][:3], day.isoformat(), ""), moved]
                for row, tree, hung, until, note in hangings:
                    where = f"{place.trap},{place.block},{place.species},{place.style},{row},{tree},{hung},{until}"
                    edge = "yes" if place.edge else "no"
                    at = position(place.block, row, tree)
                    lines.append(f"{where},{edge},{note},{lot(year, place)},{at},{place.body_label}")
    return "\n".join(lines) + "\n"


def routes_csv() -> str:
    """Both routes in the order of walking."""
    lines = ["route,position,trap"]
    for route, places in ROUTES.items():
        lines += [f"{route},{position},{place.trap}" for position, place in enumerate(places, start=1)]
    return "\n".join(lines) + "\n"


COORDINATOR = "Isolde Quarrington"
"""Who settles biofixes; invented, as everyone here."""

LETTERS = """# Who writes the letters, and what the area update may be made of. Office, people and numbers are invented.

[from]
name = "Hollowmere Scouting (invented)"
address = "The Old Weighhouse, Hollowmere"
phone = "555-0100"
email = "scouting@hollowmere.example"

[area]
name = "Hollowmere (invented)"
week_ends = "tuesday"
declined = []
"""
MODELS = """\
# Habits of the invented office for the season's arithmetic. The rule is assembled: do not use it.
# Species models, and the biofix rules of other species and later generations, are left to those that ship.

[weather]
unit = "F"

[[biofix]]
id = "cm-two-moths"
species = "CM"
kind = "run"
moths = 2
readings = 2
source = "invented for the sample office: 2 moths in the block, two readings running"
date = 2025-03-04
"""

BIOFIXES = f"""\
settled_on,scout,block,species,generation,day,reason
2023-05-23,{COORDINATOR},GATE,CM,1,,
2024-05-21,{COORDINATOR},GATE,CM,1,,
2025-04-22,{COORDINATOR},WALL,OFM,1,,
2025-05-12,{COORDINATOR},GATE,CM,1,,
2025-05-19,{COORDINATOR},MILL,CM,1,2025-05-05,same slope as Gate Block; the 4 moths of 28 April were one warm night
2025-05-20,{COORDINATOR},OWLS,CM,1,,
2025-05-20,{COORDINATOR},POND,CM,1,2025-05-05,disrupted and its traps catch nothing: taken from Gate Block
"""
"""Biofixes that the coordinator settled; a blank day is the one proposed on that day."""
