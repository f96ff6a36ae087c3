"""Cautions that stand beside every verdict, letter and update, and checks before a farm or a kill strip is touched.

Advice here is never a prescription, and no product is ever named. The wording is this project's. The practice behind it
is what state extension services print (Rutgers, Pesticide statement; Michigan State University, Pollinator stewardship
during bloom) and the US Worker Protection Standard for crop advisers (as South Dakota explains it); gloves with lures
are from Ontario, Proper use of pheromone traps. Kill strips: UF/IFAS PI262 and CDC MMWR 63(2):42-43, 2014. Ladders and
heat: OSHA, orchard ladder card and heat index guide; thunder: US National Weather Service. Farms: Government of British
Columbia, biosecurity guidelines for visitors.
"""

from __future__ import annotations

from roundtui.published import read

_SAID = {name: words.strip() for name, words in read("cautions").items()}

NOT_A_PRESCRIPTION = _SAID["not a prescription"]
"""What a verdict is not."""
LABEL = _SAID["label"]
"""The label comes first."""
LOCAL = _SAID["local"]
"""Who decides."""
INTERVALS = _SAID["intervals"]
"""Intervals after a treatment."""
BLOOM = _SAID["bloom"]
"""Bees."""
EVIDENCE = _SAID["evidence"]
"""What a low catch does not say."""
ENTRY_CHECK = _SAID["entry check"]
"""Question on entering a farm."""
KILL_STRIP = _SAID["kill strip"]
"""On changing a kill strip."""
LURES = _SAID["lures"]
"""On changing a lure."""
HYGIENE = _SAID["hygiene"]
"""Between farms."""
OUTDOORS = _SAID["outdoors"]
"""On a round out of doors."""
TRAP_INTEGRITY = _SAID["trap integrity"]
"""On a trap whose catch cannot be relied on."""
OUTLOOK = _SAID["outlook"]
"""Observations dates that are to be expected, on one line of a terminal."""

AFTER_TREATMENT = _SAID["after treatment"]
"""Observations the watch after a treatment."""
BEFORE_ENTRY = _SAID["before entry"]
"""On being told of a treatment."""

SUMMARY_CAUTIONS = (NOT_A_PRESCRIPTION, LABEL, LOCAL, INTERVALS, BLOOM, EVIDENCE)
"""What stands under every summary, in this order."""
LETTER_CAUTIONS = SUMMARY_CAUTIONS
"""What stands in every letter to a grower."""
AREA_CAUTIONS = (NOT_A_PRESCRIPTION, LABEL, LOCAL, INTERVALS, BLOOM, _SAID["area figure"])
"""What stands in every area update."""
