"""The weekly scouting round of an orchard pest-trapping programme, at the keyboard."""

__version__ = "0.1.0"
