"""What every entry of a person bears, and how a field of an entry is declared.

The registry: every kind of entry, and every field of it, as declared at the records themselves.
What a scout leaves on record: visits to traps, fruit stages seen, growers told.
What people leave on record for the season's arithmetic: biofixes settled, and temperatures read off by hand.
What is put on record in a block beside its traps: leaf and fruit samples, treatments, and what else was caught.
What is put on record of the kit: parts of traps, what was assembled of them, lures in stock, and the register.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import MISSING, dataclass, field, fields, replace
from datetime import UTC, date, datetime
from enum import StrEnum
from functools import cached_property
from importlib import import_module
from typing import Any, TypeVar, get_args, get_type_hints

from roundtui.domain.records import Frozen
from roundtui.domain.text import ruled
from roundtui.domain.units import TempUnit


class Fact(Frozen):
    """What is said of a field of an entry, once, for tables, files, notation and pages."""

    words: str
    """What it holds, as a reader of an open file needs to know it."""
    mark: str = ""
    """Its letter in the tally notation; of a yes or no it stands for the value that is not the default."""
    short: str = ""
    """What a screen calls it in a word or two: of a yes or no, when it is not its default; else behind its number."""
    column: str = ""
    """Its name in tables and files, where that is not the name of the field."""
    since: int = 1
    """Schema that first had it."""
    least: int | None = None
    """Lowest number."""
    most: int | None = None
    """Highest number."""
    pattern: str = ""
    """What a text looks like, as a regular expression."""


def fact(words: str, **more: Any) -> Mapping[str, Fact]:
    """Metadata of a field: what it holds, and whatever else ``Fact`` has of it."""
    return {"fact": Fact(words, **more)}


def said(words: str, default: Any = "", **more: Any) -> Any:
    """A field that may be left out: what it holds, its default, and whatever else ``Fact`` has of it."""
    return field(default=default, metadata=fact(words, **more))


NUMBER = r"-?[0-9]+(\.[0-9]+)?"
"""What a decimal number kept as a text looks like."""
ID = "[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}"
"""What an id looks like."""


class Recorded(Frozen, kw_only=True):
    """One entry on record, whatever it is about."""

    scout: str = said("Who recorded it.")
    device: str = said("Laptop it was recorded on, by its name.")
    recorded_at: datetime | None = said("Instant of recording, UTC.", None)
    id: str = said("Universal id of the entry, in the order of time (RFC 9562, version 7).", pattern=ID)
    replaces: str | None = said("Id of the entry that this one corrects; the other stays on record.", None, pattern=ID)
    reason: str = said("Why it was corrected or withdrawn.")


R = TypeVar("R", bound=Recorded)


class Withdrawal(Recorded, kw_only=True):
    """That an entry was withdrawn and not replaced."""

    entry: str = field(metadata=fact("Id of the entry that is withdrawn.", pattern=ID))
    kind: str = field(metadata=fact("Kind of that entry.", column="entry_kind"))


class Unknown(Recorded, kw_only=True):
    """An entry of a kind, or with words, that only a newer program knows; it is kept and handed on as it came."""

    kind: str = field(metadata=fact("Word for the kind of entry."))


def anew(entry: R, **changes: Any) -> R:
    """An entry as it goes on record again: nobody has recorded it yet, and it takes the place of nothing.

    Args:
        entry: The entry on record.
        changes: Fields that differ, ``replaces`` and ``reason`` among them.
    """
    blank = {one.name: one.default for one in fields(Recorded)}
    return replace(entry, **{**blank, **changes})


def maker(record: type[Any], given: str, values: Mapping[str, str], **known: Any) -> Callable[..., Any]:
    """A function that makes frozen records of one class, some six times as fast as the class itself.

    It fills the fields of a twin that is not frozen, and only then makes it one of the class.

    Args:
        record: A frozen dataclass with slots.
        given: Parameters of the function.
        values: For every field the expression of its value.
        known: What the expressions name beside the parameters.
    """
    twin = {"__slots__": record.__slots__, "__setattr__": object.__setattr__, "__delattr__": object.__delattr__}
    known |= {"new": object.__new__, "twin": type(record.__name__, record.__bases__, twin), "record": record}
    fill = "".join(f" one.{name} = {value}\n" for name, value in values.items())
    exec(f"def make({given}):\n one = new(twin)\n{fill} one.__class__ = record\n return one", known)  # noqa: S102
    made: Callable[..., Any] = known["make"]
    return made


class Form(StrEnum):
    """What a field holds, as the Table Schema names it."""

    TEXT = "string"
    WHOLE = "integer"
    FLAG = "boolean"
    DAY = "date"


class EntryField(Frozen):
    """One field of a kind of entry."""

    name: str
    """Its column, in tables and files."""
    attribute: str
    """Its name in the record."""
    form: Form
    """What it holds."""
    words: type[StrEnum] | None
    """The words it may hold; None: any."""
    blank: bool
    """Whether it may hold nothing."""
    required: bool
    """Whether it has no default."""
    default: Any
    """Default, as kept: a text, a number, or None; of a required field None."""
    fact: Fact
    """What is said of it."""


@dataclass(frozen=True)
class Kind:
    """A kind of entry."""

    kind: str
    """Word for it in the record: visit, stage, sample, treatment …"""
    name: str
    """Name of its table, and of its file in a data package."""
    record_name: str
    """Name of its record there."""
    about: str
    """What its rows are."""
    day: str = ""
    """Column of the day an entry is about."""
    place: str = ""
    """Column of what an entry is about: trap, block, station, lot or label."""
    known: bool = True
    """Whether that has to be set up before the entry comes."""
    shown: bool = True
    """Whether a replay shows it, and history keeps it."""
    since: int = 1
    """Schema that first had it."""
    module: str = __name__
    """Module of its record."""

    @cached_property
    def record(self) -> type[Recorded]:
        """Its record, loaded when it is first needed."""
        found: type[Recorded] = getattr(import_module(self.module), self.record_name)
        return found

    @cached_property
    def own(self) -> tuple[EntryField, ...]:
        """Its fields, those that are required first; without those that every entry bears."""
        hints = get_type_hints(self.record)
        common = {one.name for one in fields(Recorded)}
        own = [_field(one, hints[one.name]) for one in fields(self.record) if one.name not in common]
        return tuple(sorted(own, key=lambda one: not one.required))

    def field(self, name: str) -> EntryField:
        """One of its fields.

        Args:
            name: Its column.
        """
        return next(one for one in self.own if one.name == name)


def _field(one: Any, hint: Any) -> EntryField:
    said: Fact = one.metadata["fact"]
    of, blank = hint, type(None) in get_args(hint)
    if blank:
        (of,) = (part for part in get_args(hint) if part is not type(None))
    words = of if issubclass(of, StrEnum) else None
    form = {str: Form.TEXT, bool: Form.FLAG, int: Form.WHOLE, date: Form.DAY}[str if words else of]
    required = one.default is MISSING
    default = None if required else kept(one.default)
    return EntryField(said.column or one.name, one.name, form, words, blank, required, default, said)


def kept(value: Any) -> Any:
    """A value of a record as a table keeps it.

    Args:
        value: The value.
    """
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, StrEnum):
        return value.value
    return int(value) if isinstance(value, bool) else value


# Word, table, record, what its rows are, column of the day and of the place; whether the place may be unknown
# ("loose"), whether a replay passes it over ("hidden"), schema that first had it ("since 2"); module of the record,
# where it is not this one.
_KINDS = """
    visit | visits | Visit | Entries about traps, those that were corrected or withdrawn included. | read_on | trap
    stage | stages | StageSeen | Fruit stages seen. | seen_on | block
    notified | notifications | Notified | Growers told what a block showed. | round_on | block
    biofix | biofixes | BiofixSettled | Biofixes confirmed or set to another day. | day | block
    temperature | temperatures | TempsRead | Temperatures entered by hand. | day | station
    question | questions | Question | What is asked of entries. | about_on | | | round.recounts
    sample | samples | Sample | Samples of leaf and fruit. | sampled_on | block
    treatment | treatments | TreatmentSaid | Treatments reported. | treated_on | block
    specimen | specimens | Specimen | Other catch in a trap. | read_on | trap
    part | parts | PartNoted | Parts of traps. | noted_on | label | loose
    assembly | assemblies | Assembled | Traps assembled. | assembled_on | trap | loose
    stock | stocks | Stocked | Lures bought or counted. | stocked_on | lot
    check | checks | TrapChecked | Supervisor's visits, and specimens planted. | checked_on | trap | | round.recounts
    set-up | set_up_changes | SetUpChanged | Rows of the set-up, each state. | done_on | | loose
    sheet-order | sheet_orders | SheetOrder | Orders of paper sheets, by route. | | | loose hidden | paper.double_entry
    double-entry | double_entries | DoubleEntry | Rows of paper sheets as entered a second time. | read_on | trap \
        | hidden | paper.double_entry
    settlement | settlements | SheetSettled | What the paper shows where two entries of a row differ. | read_on | trap \
        | hidden | paper.double_entry
    withdrawal | withdrawals | Withdrawal | Entries that were withdrawn. | | | loose hidden
"""


def _kind(row: list[str]) -> Kind:
    word, table, record, about, day, place, marks, module = (*row, "", "", "", "")[:8]
    where = f"roundtui.domain.{module}" if module else __name__
    known, shown, since = "loose" not in marks, "hidden" not in marks, int(marks.partition("since ")[2] or 1)
    return Kind(word, table, record, about, day, place, known, shown, since, where)


KINDS = tuple(map(_kind, ruled(_KINDS)))
"""Every kind of entry, each after those it may refer to."""
KIND_OF = {kind.kind: kind for kind in KINDS}
"""Kinds by their word."""
_MARK = re.compile("[a-z]")


def marked(kind: Kind, *forms: Form) -> tuple[EntryField, ...]:
    """Fields of a kind that have a letter in the tally notation.

    Args:
        kind: The kind.
        forms: What they hold.
    """
    return tuple(one for one in kind.own if _MARK.fullmatch(one.fact.mark) and one.form in forms)


YES = "yes"
"""``Visit.lure``: a lure of the trap's own species; ``Visit.body``: a clean body without a label."""
NONE = "none"
"""``Visit.lure`` and ``Visit.lure_found``: no lure in the trap."""
MOST_MOTHS = 9999
"""Highest count that can be entered; more is impossible in a trap of this trade (common practice, no source)."""


_FOR_GROWER = ("grower:", "g:")


def for_grower(note: str) -> str:
    """What a note says to the grower, as ``grower: half under leaves``; empty where it is the scout's own.

    Args:
        note: As the scout wrote it.
    """
    words = note.strip()
    mark = next((one for one in _FOR_GROWER if words.casefold().startswith(one)), None)
    return words[len(mark) :].strip() if mark else ""


_OF_ALL = frozenset(one.name for one in fields(Recorded))


class NoReading(StrEnum):
    """Why a trap that was due has no count."""

    SKIPPED = "skipped"
    CLOSED = "closed"
    MISSING = "missing"
    DOWN = "down"
    DAMAGED = "damaged"
    OTHER = "other"

    @property
    def restarts_exposure(self) -> bool:
        """Whether the days of exposure begin anew on this visit."""
        return self in (NoReading.MISSING, NoReading.DOWN, NoReading.DAMAGED)


_MOTHS = {"default": None, "least": 0, "most": MOST_MOTHS}


class Draft(Recorded, kw_only=True):
    """What one entry says of a trap, whichever trap and day it is.

    Zero is a count, None is no count: the two are never the same. What was done on a visit acts after its count.
    """

    count: int | None = said(
        "Moths in the trap, those left in earlier included. Zero is a count; blank is no count.", **_MOTHS
    )
    no_reading: NoReading | None = said("Why it was not counted.", None, mark="x")
    estimated: bool = said("The count is an estimate.", False, mark="e", short="estimate")
    cleared: bool = said("Whether the moths were taken out.", True, mark="c", short="not cleared")
    liner: bool = said("Liner replaced.", False, mark="l", short="liner")
    lure: str | None = said(
        "Lure replaced: a lot, yes for the trap's own species, none for taken out; blank: left alone.", None, mark="r"
    )
    kill_strip: bool = said("Kill strip replaced.", False, mark="k", short="kill strip")
    body: str | None = said(
        "Body replaced: its label, or yes for a clean one without; blank: left alone.", None, mark="b"
    )
    others: int | None = said("Other insects in the trap.", mark="o", short="others", **_MOTHS)
    females: int | None = said(
        "Females among the count; blank: not sexed, which is never zero.", mark="h", short="females", **_MOTHS
    )
    sterile: int | None = said(
        "Sterile moths beside the count, which is of wild ones; blank: not told apart, which is never zero.",
        mark="d",
        short="sterile",
        **_MOTHS,
    )
    lure_found: str | None = said(
        "Wrong lure found in the trap: a lot, a species, or none; blank: nothing remarked.", None, mark="w"
    )
    read_at: str = said("Hour of the visit, HH:MM.", pattern="([0-2][0-9]:[0-5][0-9])?")
    position: str = said("Position taken there: latitude, blank, longitude.", pattern=f"({NUMBER} {NUMBER})?")
    note: str = said("Free words.", mark="n")

    @property
    def says_something(self) -> bool:
        """Whether there is a count, a reason, or a mark: a note alone is no entry."""
        return any(getattr(self, name) != default for name, default in _SAYING)

    def visit(self, trap: str, read_on: date, **more: Any) -> Visit:
        """The entry, now of a trap and a day.

        Args:
            trap: Label of the trap.
            read_on: Day of the visit.
            more: Further fields: whether it is a recount, who recorded it and when, and what it replaces.
        """
        return Visit(trap=trap, read_on=read_on, **{name: getattr(self, name) for name in SAID}, **more)


_WITH_OTHERS = {"note", "estimated", "females", "sterile", "read_at", "position"}
"""What alone is no entry."""
_SAYING = tuple((one.name, one.default) for one in fields(Draft) if one.name not in {*_OF_ALL, *_WITH_OTHERS})


SAID = tuple(one.name for one in fields(Draft) if one.name not in _OF_ALL)
"""What an entry says, without its trap, day and author."""


class Visit(Draft, kw_only=True):
    """One entry about one trap on one day, as it stands now."""

    trap: str = field(metadata=fact("Label of the trap; it keeps its species for life."))
    read_on: date = field(metadata=fact("Day of the visit."))
    recount: bool = said("A recount of a catch already counted; never a catch of its own.", False, short="recount")

    @property
    def order(self) -> tuple[date, datetime, str]:
        """Sort key: by day, within a day as recorded."""
        return (self.read_on, self.recorded_at or _NEVER, self.id)


class StageSeen(Recorded, kw_only=True):
    """The fruit stage of a block on a day."""

    block: str = field(metadata=fact("Code of the block."))
    seen_on: date = field(metadata=fact("Day of the sample."))
    code: str = field(metadata=fact("Two-digit BBCH code on the scale of the block's crop.", pattern="[0-9]{2}"))
    unchanged: bool = said("Confirmed as last time rather than chosen anew.", False)


class Notified(Recorded, kw_only=True):
    """That a grower was told what a block showed."""

    block: str = field(metadata=fact("Code of the block."))
    species: str = field(metadata=fact("Abbreviation of the species."))
    round_on: date = field(metadata=fact("Day of the summary of which the grower was notified."))
    status: str = field(metadata=fact("Status of which the grower was notified."))
    notified_on: date = field(metadata=fact("Day of the call."))
    by: str = field(metadata=fact("Who called.", column="notified_by"))
    how: str = field(metadata=fact("Phone, letter, in person."))


_NEVER = datetime.max.replace(tzinfo=UTC)


class BiofixSettled(Recorded, kw_only=True):
    """That the coordinator confirmed a proposed biofix, or set another day."""

    block: str = field(metadata=fact("Code of the block."))
    species: str = field(metadata=fact("Abbreviation of the species."))
    season: int = field(metadata=fact("Year in which the season started.", least=1900, most=2199))
    generation: int = field(metadata=fact("Generation of the season, from 1.", least=1, most=9))
    day: date = field(metadata=fact("The biofix."))
    proposed: date | None = said("Day that the rule proposed when it was settled.", None)
    rule: str = said("Rule behind the proposal.")

    @property
    def overridden(self) -> bool:
        """Whether it is another day than the proposed one."""
        return self.day != self.proposed


class TempsRead(Recorded, kw_only=True):
    """A day's lowest and highest temperature at a station, read off a thermometer and entered by hand."""

    station: str = field(metadata=fact("Code of the weather station."))
    day: date = field(metadata=fact("The day."))
    tmin: str = field(metadata=fact("Lowest air temperature of the day, in the row's unit.", pattern=NUMBER))
    tmax: str = field(metadata=fact("Highest air temperature of the day, in the row's unit.", pattern=NUMBER))
    unit: TempUnit = field(metadata=fact("Unit of the temperatures."))
    observed_at: str = said("Hour at which the thermometer was read, HH:MM on the station's clock.")
    note: str = said("Free words.")


class SampleKind(StrEnum):
    """What is looked at."""

    LEAF = "leaf"
    """Leaves, shoots, clusters, trees: anything that pest or disease is looked for on."""
    FRUIT = "fruit"
    """Fruit, for injury."""


class Sample(Recorded, kw_only=True):
    """One look at leaf or fruit of a block: how many units were looked at, and on how many something was found."""

    block: str = field(metadata=fact("Code of the block."))
    sampled_on: date = field(metadata=fact("Day of the sample.", column="sampled_on"))
    kind: SampleKind = field(metadata=fact("What was sampled.", column="sample"))
    pest: str = field(metadata=fact("What was looked for; blank for any injury of fruit."))
    looked_at: str = field(
        metadata=fact("What was examined: leaf, shoot, cluster, tree, truss, tap or fruit.", column="unit")
    )
    looked: int = field(metadata=fact("Units examined.", column="examined", least=1))
    found: int = field(metadata=fact("Units with it. Of fruit: those injured, stings apart.", least=0))
    plan: str = said("Id of the plan it was taken by; empty where none is published.")
    counted: int | None = said("Single animals or marks on all units together.", None, least=0)
    grade: int | None = said("Severity, 0 absent to 5 severe.", None, least=0, most=5)
    beneficials: int | None = said("Units with a predator or parasite.", None, least=0)
    entries: int | None = said("Fruit with an entry.", None, least=0)
    stings: int | None = said("Fruit with a sting only.", None, least=0)
    other_injury: int | None = said("Fruit injured by something else.", None, least=0)
    trees: int | None = said("Trees the sample was spread over.", None, least=1)
    place: str = said("Where in the block, as people say it.")
    note: str = said("Free words.")


class TreatmentSaid(Recorded, kw_only=True):
    """What a grower says was applied: a day, a target and a free word. Never advice."""

    block: str = field(metadata=fact("Code of the block."))
    species: str = field(metadata=fact("Abbreviation of the species it was against."))
    treated_on: date = field(metadata=fact("Day of the treatment."))
    words: str = said("What the grower called it.")
    said_by: str = said("Reported by.")


class Specimen(Recorded, kw_only=True):
    """Something in a trap that is not its species, or may not be: by kind, with a vial where one was taken."""

    trap: str = field(metadata=fact("Label of the trap."))
    read_on: date = field(metadata=fact("Day of the visit."))
    what: str = field(metadata=fact("Kind: a word of the table of kinds, a species, or unknown."))
    number: int = field(metadata=fact("How many.", least=0))
    vial: str = said("Number on the vial that was taken.")
    in_count: bool = said("Counted as the trap's own species.", False)
    identified_on: date | None = said("Day on which it was identified.", None)
    identified_by: str = said("Who identified it.")
    sent_to: str = said("Who it was sent to for a name.")
    sent_on: date | None = said("Day on which it was sent.", None)
    confirmed_by: str = said("Who confirmed the name.")
    kept_at: str = said("Where the voucher is kept.")
    note: str = said("Free words.")


class PartKind(StrEnum):
    """Which part of a trap."""

    BODY = "body"
    FUNNEL = "funnel"
    LID = "lid"


class PartState(StrEnum):
    """What became of a part."""

    NEW = "new"
    """Bought and labelled, never used."""
    STORED = "stored"
    """Taken down and put away with those of its species."""
    LOST = "lost"
    """Not found where it hung."""
    DISCARDED = "discarded"
    """Broken, or its scent is not its own: never to be used again."""


class PartNoted(Recorded, kw_only=True):
    """What became of a labelled part, and for which species it is."""

    label: str = field(metadata=fact("Label on the part."))
    part: PartKind = field(metadata=fact("Which part it is."))
    species: str = field(metadata=fact("Abbreviation of the species it is for, for life."))
    state: PartState = field(metadata=fact("What became of it."))
    noted_on: date = field(metadata=fact("Day of it."))
    place: str = said("Where it is kept.")
    note: str = said("Free words.")


class Assembled(Recorded, kw_only=True):
    """A trap put together before it is hung: its parts, and the lure put in."""

    trap: str = field(metadata=fact("Label of the trap; it may not hang anywhere yet."))
    species: str = field(metadata=fact("Abbreviation of the trap's species."))
    assembled_on: date = field(metadata=fact("Day on which the trap was assembled."))
    body_label: str = said("Label of the trap body.")
    funnel_label: str = said("Label of the funnel.")
    lid_label: str = said("Label of the lid.")
    lot: str = said("Lot of the lure put in; empty: none yet.")
    despite: str = said("Why the trap was put together all the same; blank where nothing was wrong.", column="override")


class StockKind(StrEnum):
    """How a number of lures came on record."""

    BOUGHT = "bought"
    """So many more."""
    COUNTED = "counted"
    """So many are there, whatever was before."""


class Stocked(Recorded, kw_only=True):
    """Lures of a lot that were bought, or counted in the store."""

    lot: str = field(metadata=fact("The lot."))
    stocked_on: date = field(metadata=fact("Day on which the lures were bought or counted."))
    kind: StockKind = field(metadata=fact("Bought or counted.", column="event"))
    number: int = field(metadata=fact("How many lures.", least=0))
    note: str = said("Free words.")


class SetUpChanged(Recorded, kw_only=True):
    """A change of the register made in the app: a row of a set-up file as it was, and as it is from then on."""

    file: str = field(metadata=fact("Set-up file that the row belongs in, as traps.csv."))
    change: str = field(
        metadata=fact("What was done: loaded, added, edited, moved, taken-down, restored, reordered.", column="change")
    )
    done_on: date = field(metadata=fact("Day it holds from."))
    row: str = field(metadata=fact("What tells the row from others for good: its labels when it came, a JSON array."))
    was: str = said("The row before, a JSON object of its columns that are not blank; empty where there was none.")
    becomes: str = said("The row after, likewise; empty where it is gone.")
    after: str = said("Versions of the row that this one took the place of, set apart by blanks.")
    trap: str | None = said("Trap it is about; None for what is not about one.", None)
    block: str | None = said("Block it is about; None for what is not about one.", None)
    words: str = said("Why, in the words of who did it.")


def change_words(entry: SetUpChanged) -> str:
    """What was done, as people say it: a trap that was down and hangs in a row of its own was hung, not restored.

    Args:
        entry: The change.
    """
    if entry.change == "restored" and not entry.was:
        return "hung"
    return entry.change.replace("-", " ")


def changed_columns(entry: SetUpChanged) -> str:
    """What a change put in place of what, column by column.

    Args:
        entry: The change.
    """
    was, becomes = (json.loads(text) if text else {} for text in (entry.was, entry.becomes))
    columns = [column for column in {**was, **becomes} if was.get(column) != becomes.get(column)]
    return "; ".join(f"{column} {was.get(column, 'blank')} to {becomes.get(column, 'blank')}" for column in columns)
