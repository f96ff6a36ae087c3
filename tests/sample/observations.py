"""What the invented programme did beside its weekly counts: looks, treatments, vials, parts, traps assembled, lures."""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator, Mapping
from datetime import date

from tests.sample.stories import Row

COORDINATOR = "Isolde Quarrington"
JUNO, PERRIN = "Juno Hazelrigg", "Perrin Alderquist"

_SAMPLES = """\
block,sampled_on,sample,pest,unit,examined,found,plan,counted,grade,beneficials,entries,stings,other_injury,trees,place,note
GATE,2025-05-19,leaf,RAA,tree,25,1,raa-uk,,,,,,,25,,one tree by the gate
MILL,2025-06-16,leaf,OBLR,shoot,60,1,oblr-maine,,,,,,,6,,
BARN,2025-06-16,leaf,OBLR,shoot,90,5,oblr-maine,,,,,,,9,,rolled leaves on the south side
GATE,2025-07-14,leaf,OBLR,shoot,60,2,oblr-maine,,,,,,,6,,the sun went down
TARN,2025-07-08,leaf,ERM,leaf,100,64,mites-penn-early-summer,,,,,,,10,,by presence alone
KILN,2025-07-08,leaf,ERM,leaf,100,55,mites-penn-early-summer,310,,12,,,,10,,
LANE,2025-07-08,leaf,scab,leaf,100,4,,,1,,,,,20,,no plan is published for it here
POND,2025-06-30,fruit,,fruit,100,0,,,,,0,0,0,5,rows 11 to 18,
POND,2025-07-14,fruit,,fruit,300,6,fruit-washington,,,,6,1,0,15,row 18,fresh entries
GATE,2025-07-14,fruit,,fruit,200,1,,,,,0,2,1,10,near G1,one chewed by an earwig
"""
_TREATMENTS = """\
block,species,treated_on,words,said_by
KILN,CM,2025-06-08,cover spray,Tamsin Quillfeather
MILL,CM,2025-06-24,cover spray,Wren Ostlewick
GATE,CM,2025-07-10,cover spray,Wren Ostlewick
"""
_SPECIMENS = """\
trap,read_on,what,number,vial,in_count,identified_on,identified_by,note
M1,2025-06-30,bee,1,,no,,,
G3,2025-07-07,wasp,2,,no,,,
G4,2025-07-14,unknown,2,V-3,yes,,,smaller and duller than the others
B1,2025-06-23,caddisfly,1,V-1,no,2025-07-02,"Orla Finchwick, museum",
"""
_PARTS = """\
label,part,species,state,noted_on,place,note
TS-1,body,CM,stored,2024-10-02,loft shelf 2,
TS-2,body,CM,stored,2024-10-02,loft shelf 2,should have been thrown away
TS-3,body,CM,stored,2024-10-02,loft shelf 2,
TS-4,body,CM,stored,2024-10-02,loft shelf 2,
CM-N1,body,CM,new,2025-03-10,loft shelf 2,
CM-N2,body,CM,new,2025-03-10,loft shelf 2,
OFM-N1,body,OFM,new,2025-03-10,loft shelf 3,
OB-7,body,OBLR,lost,2024-09-30,,blown down; not found
"""
_STOCK = """\
lot,stocked_on,event,number,note
CM25A,2025-03-03,bought,60,
CM25A,2025-07-14,counted,9,
CM25X,2025-03-03,bought,12,
OFM25A,2025-03-03,bought,50,
GPTB25A,2025-03-03,bought,20,
AM25A,2025-03-03,bought,12,
"""
FILES = (
    ("samples.csv", "samples", JUNO, date(2025, 7, 14), _SAMPLES),
    ("treatments.csv", "treatments", COORDINATOR, date(2025, 7, 14), _TREATMENTS),
    ("specimens.csv", "specimens", JUNO, date(2025, 7, 14), _SPECIMENS),
    ("parts.csv", "parts", COORDINATOR, date(2025, 3, 10), _PARTS),
    ("stock.csv", "stock", COORDINATOR, date(2025, 7, 14), _STOCK),
)
"""Each file with its kind, whose it is, and the day on which it was recorded."""
_ASSEMBLED_ON = date(2025, 4, 10)
_NOT_HUNG = "T6,CM,2025-07-10,TS-4,OFM25A,wrong pack opened; taken out again\n"


def observation_files(traps: Iterable[Mapping[str, str]]) -> dict[str, str]:
    """Every file of the kind by its path under sample_farm/.

    Args:
        traps: Rows of traps.csv, for the labels of bodies.
    """
    assemblies = "".join(
        f"{row['trap']},{row['species']},{_ASSEMBLED_ON},{row['body_label']},{row['lot']},"
        f"{'no clean body was left' if row['body_label'] == 'TS-2' else ''}\n"
        for row in traps
        if row["body_label"] and row["hung_on"] >= _ASSEMBLED_ON.isoformat()
    )
    files = (
        *FILES,
        (
            "assemblies.csv",
            "assemblies",
            PERRIN,
            date(2025, 7, 10),
            f"trap,species,assembled_on,body_label,lot,override\n{assemblies}{_NOT_HUNG}",
        ),
    )
    listed = "".join(f"{name},{kind},{scout},{day}\n" for name, kind, scout, day, _ in files)
    return {
        "observations/files.csv": f"file,kind,scout,recorded_on\n{listed}",
        **{f"observations/{name}": text for name, _, _, _, text in files},
    }


def second_counts(day: date, rows: Iterable[Row]) -> Iterator[Row]:
    """Two traps of a south round counted again by the other scout: alike four times in five, else one moth apart.

    Args:
        day: Day of the round.
        rows: Rows of the round.
    """
    counted = [row for row in rows if row.get("count") and "cleared" not in row]
    rng = random.Random(f"second counts of {day.isoformat()}")
    for row in rng.sample(counted, 2) if len(counted) > 1 else ():
        count = int(row["count"])
        again = count if rng.random() < 0.8 else max(0, count + rng.choice((-1, 1)))
        yield {"trap": row["trap"], "read_on": day.isoformat(), "count": str(again), "recount": "yes"}
