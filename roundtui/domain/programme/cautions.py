"""Cautions that stand beside every verdict, letter and update, and checks before a farm or a kill strip is touched.

Advice here is never a prescription, and no product is ever named. The wording is this project's. The practice behind it
is what state extension services print (Rutgers, Pesticide statement; Michigan State University, Pollinator stewardship
during bloom) and the US Worker Protection Standard for crop advisers (as South Dakota explains it); gloves with lures
are from Ontario, Proper use of pheromone traps. Kill strips: UF/IFAS PI262 and CDC MMWR 63(2):42-43, 2014. Ladders and
heat: OSHA, orchard ladder card and heat index guide; thunder: US National Weather Service. Farms: Government of British
Columbia, biosecurity guidelines for visitors.
"""

from __future__ import annotations

NOT_A_PRESCRIPTION = (
    "These figures describe a catch. They are not a prescription: what to do, if anything, is the grower's decision."
)
"""What a verdict is not."""
LABEL = "The product label is the law: crop, pest, rate, season limit and protection are as it says, and it changes."
"""The label comes first."""
LOCAL = (
    "Local extension and licensed applicators decide what applies here; state and local rules can be stricter than any "
    "general advice."
)
"""Who decides."""
INTERVALS = "Re-entry and pre-harvest intervals are the grower's to keep; check both before any work in the block."
"""Intervals after a treatment."""
BLOOM = "No insecticide on open bloom. Bees visit weeds under the trees too."
"""Bees."""
EVIDENCE = "A low catch does not prove a clean block, least of all under mating disruption: check the fruit first."
"""What a low catch does not say."""
ENTRY_CHECK = (
    "Has the entry interval been checked with the grower? Read the posted signs and the application record, and stay "
    "out until the interval is over."
)
"""Question on entering a farm."""
KILL_STRIP = (
    "Kill strips give off insecticide, most an organophosphate: gloves as the strip's label says, the trap opened away "
    "from your face, hands washed; strips sealed and never in a closed cab, spent ones back as label and rules say."
)
"""On changing a kill strip."""
LURES = (
    "A fresh pair of disposable gloves for each kind of lure; keep the pack sealed until it is needed, and take the "
    "spent lure out of the orchard."
)
"""On changing a lure."""
HYGIENE = "Clean boots, hands and tools between farms; farms with a problem of their own come last."
"""Between farms."""
OUTDOORS = (
    "No ladder in wind or near power lines, nobody on its top step. In heat water and shade; at a heat index of 103 °F "
    "and more the work moves to cool hours. At thunder indoors, until 30 minutes after the last. Local law decides."
)
"""On a round out of doors."""
TRAP_INTEGRITY = (
    "A trap body keeps the scent of every lure it held: under a wrong lure, or in a body that held one, a trap says "
    "nothing of its block."
)
"""On a trap whose catch cannot be relied on."""
OUTLOOK = "No order to spray: the label is law, extension and licensed practice decide."
"""Observations dates that are to be expected, on one line of a terminal."""

AFTER_TREATMENT = (
    "A catch also falls by itself, at the end of a flight and in cold or wet weather; a fall proves nothing about "
    "what was applied. The grower's words are kept as said; they are not advice."
)
"""Observations the watch after a treatment."""
BEFORE_ENTRY = (
    "Ask for the day from which the block may be entered: the label's re-entry and pre-harvest intervals hold."
)
"""On being told of a treatment."""

SUMMARY_CAUTIONS = (NOT_A_PRESCRIPTION, LABEL, LOCAL, INTERVALS, BLOOM, EVIDENCE)
"""What stands under every summary, in this order."""
LETTER_CAUTIONS = SUMMARY_CAUTIONS
"""What stands in every letter to a grower."""
AREA_CAUTIONS = (
    NOT_A_PRESCRIPTION,
    LABEL,
    LOCAL,
    INTERVALS,
    BLOOM,
    "An area figure says nothing about a single block: look at your own traps and fruit.",
)
"""What stands in every area update."""
