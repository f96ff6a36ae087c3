"""What an administrator runs on the hub: its schema, which is frozen, the views for statistics, and who may log in.

The views follow from the registry of entries and are made anew by each version of the program. They show labels, days,
counts and words of a list, and no text that people wrote freely: no names, addresses or notes.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from importlib.resources import files

from roundtui.domain.entries import KINDS, EntryField, Form, Kind
from roundtui.errors import RefusedError
from roundtui.store.set_up.columns import FILES

HUB_SCHEMA = 1
"""Schema of the hub that this program speaks to."""
OFFICE = "office"
"""Name of the office where none is given."""
SHOWN = frozenset(
    (
        *("trap", "block", "station", "lot", "species", "pest", "label", "lure", "lure_found", "body", "body_label"),
        *("funnel_label", "lid_label", "code", "status", "rule", "unit", "plan", "tmin", "tmax", "entry", "what"),
    )
)
"""Texts of entries that readers see, beside words of a list; any other may name a person or a place."""
SHOWN_SET_UP = {
    "farms.csv": "farm group visit_last",
    "blocks.csv": "block farm crop variety area_ha disrupted station markets",
    "traps.csv": "trap block species style hung_on down_on edge lot height_m",
    "lures.csv": "lot species load_mg life_days kind substrate bought_on expires_on",
    "routes.csv": "route position trap",
    "species.csv": "species name latin lure_days",
    "stations.csv": "station timezone",
}
"""Columns of the set-up that readers see."""
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,40}")
_LAPTOP = re.compile(r"[0-9a-f]{12}")
_WHOLE = "CASE WHEN {0} ~ '^-?[0-9]{{1,9}}$' THEN {0}::int END"
_DAY = (
    "CASE WHEN {0} ~ '^[0-9]{{4}}-(0[1-9]|1[0-2])-(0[1-9]|1[0-9]|2[0-8])$' THEN {0}::date"
    " WHEN {0} ~ '^[0-9]{{4}}-[0-9]{{2}}-[0-9]{{2}}$' THEN hub.as_day({0}) END"
)
_TYPED = {
    Form.TEXT: "{0}",
    Form.WHOLE: _WHOLE,
    Form.DAY: _DAY,
    Form.FLAG: "CASE {0} WHEN 'true' THEN true WHEN 'false' THEN false END",
}
"""A text as a column of the form; what a newer program or a foreign hand wrote there is blank, and no fault."""
_REACH = "e.reach || ARRAY(SELECT unnest(a.reach) FROM hub.again AS a WHERE a.id = e.id) AS reach"


def schema_sql() -> str:
    """Everything that makes a hub of an empty database, or brings one up to date."""
    text = f"{_text_of('hub_0001.sql')}\n{_text_of('views.sql')}"
    views = [*_entry_views(), *_set_up_views()]
    refresh = "\n".join(f"    REFRESH MATERIALIZED VIEW hub.copy_of_{name};" for name, _ in views)
    return (
        f"BEGIN;\nSET LOCAL client_min_messages = warning;\n{text}{''.join(made for _, made in views)}"
        "\n-- For a nightly job, where statistics are asked of the copies.\n"
        "CREATE OR REPLACE FUNCTION hub.refresh() RETURNS void\n"
        "LANGUAGE plpgsql SET search_path = pg_catalog, pg_temp AS $$\nBEGIN\n"
        f"{refresh}\nEND $$;\nREVOKE ALL ON ALL FUNCTIONS IN SCHEMA hub FROM PUBLIC;\nCOMMIT;\n"
    )


def _text_of(name: str) -> str:
    return files("roundtui.store.hub").joinpath(name).read_text(encoding="utf-8")


def person_sql(
    name: str,
    groups: Sequence[str],
    *,
    office: str = OFFICE,
    laptop: str = "",
    carries: bool = False,
    reader: bool = False,
) -> str:
    """What lets a laptop, or a reader of statistics, log in; run again, it grants other groups.

    Args:
        name: Name of its role.
        groups: Groups whose farms it sees; without any those farms that are in none.
        office: Its office.
        laptop: Id of the laptop; empty: the first that pushes under the name.
        carries: Whether it may hand on what laptops recorded that never come to the hub.
        reader: Whether it reads statistics alone.

    Raises:
        RefusedError: A name cannot be one.
    """
    for what, one in (("role", name), ("office", office)):
        if not _NAME.fullmatch(one):
            raise RefusedError(
                f"{one!r} cannot be the name of a {what}", "use up to 41 letters, digits, dots, strokes or underlines"
            )
    if laptop and not _LAPTOP.fullmatch(laptop):
        raise RefusedError(f"{laptop!r} is no id of a laptop", "it is twelve characters of 0-9 and a-f")
    for one in groups:
        if not one.strip() or "\n" in one:
            raise RefusedError(f"{one!r} cannot be the name of a group", "name it as farms.csv does")
    listed = ", ".join(map(_text, groups or (office,)))
    ids = _text(laptop) if laptop else ""
    return (
        "BEGIN;\nDO $$\nBEGIN\n"
        f'    CREATE ROLE "{name}" LOGIN;\n'
        "EXCEPTION WHEN duplicate_object OR unique_violation THEN NULL;\nEND $$;\n"
        f'GRANT {"hub_reader" if reader else "hub_laptop"} TO "{name}";\n'
        f"SELECT hub.enrol({_text(name)}, {_text(office)}, ARRAY[{listed}]::text[], ARRAY[{ids}]::text[],"
        f" {str(carries).lower()}, {str(reader).lower()});\nCOMMIT;\n"
    )


def _entry_views() -> Iterator[tuple[str, str]]:
    for kind in KINDS:
        if kind.shown and kind.word != "set-up":
            yield kind.table, _entry_view(kind)


def _entry_view(kind: Kind) -> str:
    own = [one for one in kind.fields if one.form is not Form.TEXT or one.words or one.name in SHOWN]
    listed = ", ".join(f'"{one.name}" text' for one in own)
    columns = ", ".join(f'{_column(one)} AS "{one.name}"' for one in own)
    select = (
        f"SELECT e.id, x.recorded_at::timestamptz AS recorded_at, {columns}, {_REACH}\n"  # noqa: S608
        f"FROM hub.entries AS e, LATERAL json_to_record(e.said::json) AS x (recorded_at text, {listed})\n"
        f"WHERE e.kind = {_text(kind.word)} AND NOT EXISTS (SELECT FROM hub.gone AS g WHERE g.id = e.id)"
    )
    names = ", ".join(["id", "recorded_at", *(f'"{one.name}"' for one in own)])
    return _text_of("view.sql").format(name=kind.table, select=select, columns=names)


def _column(one: EntryField) -> str:
    typed = _TYPED[one.form].format(f'x."{one.name}"')
    if one.required or one.default is None:
        return typed
    default = _text(one.default) if one.form is Form.TEXT else str(one.default)
    return (
        f"coalesce({typed}, {default.replace('0', 'false').replace('1', 'true') if one.form is Form.FLAG else default})"
    )


def _set_up_views() -> Iterator[tuple[str, str]]:
    for file in FILES:
        if file.name in SHOWN_SET_UP:
            shown = SHOWN_SET_UP[file.name].split()
            columns = ", ".join(
                f"{(_DAY if one.endswith('_on') else '{0}').format(f'''(becomes::json ->> '{one}')''')} AS \"{one}\""
                for one in shown
            )
            select = (
                f"SELECT {columns}, reach FROM (\n"  # noqa: S608
                f"SELECT DISTINCT ON (split_part(e.reach[1], '/', 1), x.row) x.becomes, {_REACH}\n"
                "FROM hub.entries AS e, LATERAL json_to_record(e.said::json) AS x (file text, row text, becomes text)\n"
                f"WHERE e.kind = 'set-up' AND x.file = {_text(file.name)}\n"
                "ORDER BY split_part(e.reach[1], '/', 1), x.row, e.id DESC) AS newest\nWHERE becomes <> ''"
            )
            yield (
                file.table,
                _text_of("view.sql").format(
                    name=file.table, select=select, columns=", ".join(f'"{one}"' for one in shown)
                ),
            )


def _text(value: str) -> str:
    """A text as SQL writes it, whatever is in it."""
    return "'" + value.replace("'", "''") + "'" if "\\" not in value else "E'" + _escaped(value) + "'"


def _escaped(value: str) -> str:
    return value.replace("\\", "\\\\").replace("'", "\\'")
