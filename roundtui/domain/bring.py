"""What people call columns, marks and answers in tables of their own, in English, German, French and Spanish.

The words are from memory, as such tables are headed; a column that is not among them is asked for once and kept.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from roundtui.domain.entries import NoReading


class Kind(StrEnum):
    """What a table holds."""

    FARMS = "farms"
    BLOCKS = "blocks"
    TRAPS = "traps"
    LOTS = "lots"
    ROUTES = "routes"
    COUNTS = "counts"
    WEATHER = "weather"


LEFT_OUT = ""
"""What a column is that is not taken."""
BLANK = "blank"
"""What a mark is that stands for nothing written: never a zero."""

_WORDS: dict[str, str] = {
    "farm": "farm, farm code, farm no, grower code, betrieb, betriebsnr, betriebsnummer, hof, ferme, exploitation, code"
    " exploitation, finca, explotacion, granja, codigo finca",
    "name": "name, farm name, block name, bezeichnung, betriebsname, nom, nom ferme, nombre, denominacion",
    "grower": "grower, owner, contact, contact person, betriebsleiter, bauer, landwirt, ansprechpartner, producteur,"
    " arboriculteur, productor, agricultor",
    "email": "email, e mail, mail, courriel, correo, correo electronico",
    "phone": "phone, telephone, tel, mobile, telefon, handy, telefono, movil, telephone portable",
    "visit_last": "visit last, zuletzt, dernier, ultimo",
    "property_no": "property no, property number, pic, grundstuecksnummer, no propriete, numero de propiedad",
    "group": "group, gruppe, groupe, grupo",
    "block": "block, block code, orchard block, anlage, quartier, parzelle, schlag, parcelle, bloc, verger, parcela,"
    " bloque, cuartel",
    "crop": "crop, kultur, obstart, culture, espece cultivee, cultivo",
    "variety": "variety, cultivar, sorte, variete, variedad",
    "area_ha": "area ha, area, hectares, ha, flaeche, flaeche ha, surface, surface ha, superficie, superficie ha",
    "disrupted": "disrupted, mating disruption, md, verwirrung, verwirrt, confusion, confusion sexuelle,"
    " confusion sexual",
    "no_entry_before": "no entry before",
    "unit_no": "unit no, unit, block no, einheit, unite, unidad",
    "markets": "markets, market, markt, maerkte, marche, marches, mercado, mercados",
    "trap": "trap, trap id, trap no, trap number, trap label, falle, fallen nr, fallennr, fallennummer,"
    " fallen id, piege,"
    " no piege, n piege, numero piege, trampa, no trampa, n trampa, numero trampa",
    "species": "species, pest, insect, target, art, schaedling, zielart, espece, ravageur, especie, plaga",
    "style": "style, trap style, trap type, type, fallentyp, typ, type piege, tipo, tipo trampa",
    "row": "row, reihe, rang, ligne, fila, hilera",
    "tree": "tree, baum, arbre, arbol",
    "hung_on": "hung on, hung, date hung, placed, deployed, set on, aufgehaengt, aufgehaengt am, haengt seit, pose le,"
    " date de pose, colgada, fecha colocacion, colocada",
    "down_on": "down on, taken down, removed, abgehaengt, abgehaengt am, retire le, date de retrait, retirada,"
    " fecha retirada",
    "edge": "edge, border, rand, bordure, borde",
    "note": "note, notes, comment, comments, remark, remarks, bemerkung, bemerkungen, notiz, anmerkung,"
    " remarque, remarques,"
    " observation, observations, nota, notas, observaciones, comentario",
    "lot": "lot, lure lot, batch, charge, dispenser charge, lot capsule, lote",
    "lat": "lat, latitude, breite, breitengrad, latitud",
    "lon": "lon, long, lng, longitude, laenge, laengengrad, longitud",
    "height_m": "height m, height, hoehe, hoehe m, hauteur, altura",
    "body_label": "body label, body",
    "funnel_label": "funnel label, funnel",
    "lid_label": "lid label, lid",
    "load_mg": "load mg, load, beladung, beladung mg, charge mg, carga, carga mg",
    "kind": "kind, lure kind, lure type, dispensertyp, koedertyp, type capsule, tipo feromona",
    "substrate": "substrate, traeger, support, sustrato",
    "life_days": "life days, life, field life, standzeit, standzeit tage, duree, duree jours, duracion, duracion dias",
    "bought_on": "bought on, bought, purchased, gekauft, gekauft am, achete le, comprado, fecha compra",
    "expires_on": "expires on, expires, expiry, verfall, haltbar bis, verfallsdatum, expire le, peremption,"
    " caduca, caducidad",
    "route": "route, round, tour, runde, tournee, ruta, ronda",
    "position": "position, order, stop, reihenfolge, pos, ordre, orden",
    "read_on": "read on, date, day, check date, date read, date checked, datum, ablesung, kontrolle,"
    " kontrolldatum, tag, jour,"
    " date releve, date de releve, releve, fecha, dia, fecha lectura, week, woche, semaine, semana",
    "count": "count, catch, moths, number, total caught, captures, capture, fang, faenge, anzahl, falter, summe falter,"
    " nombre, prises, papillons, conteo, capturas, numero, adultos, polillas",
    "no_reading": "no reading, reason, not read, grund, nicht gelesen, raison, motif, motivo",
    "cleared": "cleared, emptied, geleert, vide, vaciada",
    "liner": "liner, liner changed, new liner, sticky base, boden, leimboden, klebeboden, boden neu, fond, fond englue,"
    " plaque, base pegajosa, base, fondo",
    "lure": "lure, lure changed, new lure, koeder, dispenser, koeder neu, capsule, diffuseur, feromona, cebo, difusor",
    "kill_strip": "kill strip",
    "body_new": "new body",
    "stage": "stage, bbch, stadium, stade, estado, estado fenologico",
    "others": "others, other insects, bycatch, beifang, autres, otros",
    "females": "females, weibchen, femelles, hembras",
    "estimated": "estimated, geschaetzt, estime, estimado",
    "scout": "scout, observer, read by, checked by, by, kontrolleur, leser, abgelesen von, observateur,"
    " releveur, observador,"
    " lector, responsable",
    "station": "station, station id, weather station, wetterstation, station meteo, estacion, stationsname",
    "date": "date, day, datum, tag, jour, fecha, dia, datetime, timestamp, date time, zeitstempel, zeitpunkt,"
    " horodatage,"
    " fecha hora",
    "tmin": "tmin, t min, min, minimum, min temp, temp min, min temperature, low, tn, tmin c, temperatur min, tiefst,"
    " tiefsttemperatur, temperature minimale, minima, temperatura minima",
    "tmax": "tmax, t max, max, maximum, max temp, temp max, max temperature, high, tx, tmax c, temperatur max, hoechst,"
    " hoechsttemperatur, temperature maximale, maxima, temperatura maxima",
    "unit": "unit, einheit, unite, unidad",
    "observed_at": "observed at, observation time",
    "time": "time, hour, zeit, uhrzeit, stunde, heure, hora",
    "temp": "temp, temperature, air temp, air temperature, t, temperatur, lufttemperatur, temp c, temperature air,"
    " temperatura, temperatura aire",
    "forecast": "forecast, vorhersage, prognose, prevision, pronostico",
}

_TARGETS: dict[Kind, str] = {
    Kind.FARMS: "farm name grower email phone visit_last property_no group",
    Kind.BLOCKS: "block farm name crop variety area_ha disrupted station no_entry_before unit_no markets",
    Kind.TRAPS: "trap block species farm style row tree hung_on down_on edge note lot lat lon height_m body_label"
    " funnel_label lid_label",
    Kind.LOTS: "lot species load_mg kind substrate life_days note bought_on expires_on",
    Kind.ROUTES: "route position trap block",
    Kind.COUNTS: "trap read_on count no_reading cleared liner lure kill_strip stage note others females estimated scout"
    " species block farm",
    Kind.WEATHER: "station date time tmin tmax temp unit observed_at forecast",
}


def targets(kind: Kind) -> tuple[str, ...]:
    """Columns that a table of a kind can have.

    Args:
        kind: What the table holds.
    """
    return tuple(_TARGETS[kind].split())


def head_key(text: str) -> str:
    """A heading as it is compared: letters and digits alone, without accents and case, and without what is in brackets.

    Args:
        text: The cell.
    """
    text = text.casefold().replace("ä", "ae").replace("ö", "oe").replace("ü", "ue").replace("ß", "ss")
    text = "".join(one for one in unicodedata.normalize("NFKD", text) if not unicodedata.combining(one))
    text = re.sub(r"[(\[].*?[)\]]|°\s*[cf]\b|\bdeg\w*\b", " ", text)
    return " ".join(re.findall(r"[a-z0-9]+", text))


_KNOWN: dict[Kind, dict[str, str]] = {
    kind: {
        head_key(word): target for target in reversed(targets(kind)) for word in (target, *_WORDS[target].split(","))
    }
    for kind in Kind
}


def target_of(kind: Kind, heading: str) -> str | None:
    """The column that a heading stands for.

    Args:
        kind: What the table holds.
        heading: The heading as written.

    Returns:
        None where nobody knows it.
    """
    return _KNOWN[kind].get(head_key(heading))


_MARKS: Mapping[str, str] = {
    **{
        mark: reason
        for reason, marks in (
            (
                NoReading.MISSING,
                "missing gone lost stolen weg fehlt verloren gestohlen disparu perdu vole perdida robada",
            ),
            (NoReading.DOWN, "down fallen umgefallen liegt tombe caida"),
            (NoReading.DAMAGED, "damaged broken destroyed kaputt defekt beschaedigt abime casse detruit danada rota"),
            (
                NoReading.SKIPPED,
                "skipped ausgelassen nicht_kontrolliert nicht_gelesen non_releve no_leida not_read unread",
            ),
            (NoReading.CLOSED, "closed no_entry gesperrt ferme cerrado"),
        )
        for mark in (word.replace("_", " ") for word in marks.split())
    },
    **dict.fromkeys(
        ("k a", "ka", "n a", "na", "nan", "null", "none", "nil", "keine angabe", "n d", "nd", "s d", "n c"), BLANK
    ),
    **dict.fromkeys(("no data", "div 0", "value", "ref", "valeur", "wert"), BLANK),
}
TOTALS = frozenset(
    [
        "total",
        "totals",
        "sum",
        "summe",
        "gesamt",
        "somme",
        "totaux",
        "suma",
        "mean",
        "average",
        "mittel",
        "mittelwert",
        "moyenne",
        "media",
    ]
)
"""First words of rows that sum others up; they are no readings."""
_YES = frozenset(
    [
        "yes",
        "y",
        "ja",
        "j",
        "oui",
        "o",
        "si",
        "s",
        "x",
        "true",
        "wahr",
        "vrai",
        "verdadero",
        "1",
        "new",
        "neu",
        "nouveau",
        "nueva",
        "changed",
        "gewechselt",
    ]
)
_NO = frozenset(["no", "n", "nein", "non", "false", "falsch", "faux", "0"])


def mark_meaning(text: str) -> str | None:
    """What a word in the place of a count stands for: a reason, ``BLANK``, or None where nobody can know.

    Args:
        text: The cell.
    """
    return _MARKS.get(head_key(text))


def yes_no(text: str) -> str | None:
    """A yes or no of whatever language as the files have it.

    Args:
        text: The cell.

    Returns:
        yes, no, an empty text for a blank one; None where it is neither.
    """
    key = head_key(text)
    if key in _YES or text.strip() in ("✓", "✔", "☑"):
        return "yes"
    return (
        "no"
        if key in _NO or text.strip() in ("-", "–")
        else ""
        if not text.strip() or mark_meaning(text) == BLANK
        else None
    )


@dataclass(frozen=True, slots=True)
class Number:
    """A number as people write it."""

    value: Decimal
    """What it is."""
    odd: bool
    """Whether it was written otherwise than in plain digits with a point, as 3,0."""


_PLAIN = re.compile(r"[+-]?\d{1,12}(\.\d{1,9})?")
_COMMA = re.compile(r"[+-]?\d{1,12},\d{1,9}")
_GROUPED = re.compile(
    r"[+-]?\d{1,3}([.' \u00a0\u202f]\d{3})+(,\d{1,9})?|[+-]?\d{1,3}([,' \u00a0\u202f]\d{3})+(\.\d{1,9})?"
)


def number_of(text: str) -> Number | None:
    """A number with a point or a comma before its decimals.

    Args:
        text: The cell.

    Returns:
        None for anything else; 1.234 is one and a bit, 1.234,5 and 1 234 are thousands.
    """
    text = text.strip().replace("\u2212", "-")
    if not text.isascii() and not any(one in text for one in "\u00a0\u202f"):
        return None
    if _PLAIN.fullmatch(text):
        return Number(Decimal(text), "." in text)
    if _COMMA.fullmatch(text):
        return Number(Decimal(text.replace(",", ".")), True)
    if _GROUPED.fullmatch(text):
        digits = re.sub(r"[' \u00a0\u202f]", "", text)
        comma = digits.rfind(",") > digits.rfind(".")
        digits = digits.replace(".", "").replace(",", ".") if comma and "." in digits else digits.replace(",", "")
        return Number(Decimal(digits), True) if _PLAIN.fullmatch(digits) else None
    return None
