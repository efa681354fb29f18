"""Which column is which: the user's map first, then what the headings claim; equal claims are an error."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from orderbook.catalogue.maps import ColumnMap, MapEntry
from orderbook.catalogue.words import Heading, Words, heading
from orderbook.errors import OrderbookError, error

SIZES = ("width", "strength", "length")


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a list and what it was taken for.

    unit: of a bare number ("" if not said yet); decimal: the column's mark; currency, pack, each: of a price.
    """

    index: int
    header: str
    meaning: str
    unit: str = ""
    decimal: str = ""
    currency: str = ""
    pack: int = 0
    each: bool = False
    why: str = ""


def name_columns(header: Sequence[str], file: str, words: Words, column_map: ColumnMap) -> tuple[Column, ...]:
    """Give each column its meaning, or "unused".

    Raises: OrderbookError(columns_conflict | columns_not_found) with the headings that were found.
    """
    read = [heading(text, words) for text in header]
    mapped = {i: column_map.columns[text] for i, text in enumerate(header) if text in column_map.columns}
    if missing := [name for name in column_map.columns if name not in header]:
        saw = f"the map speaks of {missing[0]!r}; the headings are {_listed(header)}"
        raise error("map_does_not_fit", where=file, saw=saw)
    meanings = {i: entry.meaning for i, entry in mapped.items()}
    _refuse_twice(meanings, header, file)
    meanings |= _claimed(read, meanings, header, file)
    meanings = _one_way_of_sizes(meanings, file, header)
    return tuple(
        _column(i, text, meanings.get(i, "unused"), read[i], mapped.get(i), words) for i, text in enumerate(header)
    )


def _claimed(read: list[Heading], taken: dict[int, str], header: Sequence[str], file: str) -> dict[int, str]:
    """Deal the meanings out, the strongest claim first."""
    claims = [
        (score, -i, meaning)
        for i, head in enumerate(read)
        if i not in taken
        for meaning, score in (head.claims if not _says_unused(head) else ())
    ]
    given: dict[int, str] = {}
    held = set(taken.values()) - {"unused"}
    for score, minus, meaning in sorted(claims, reverse=True):
        index = -minus
        if index in given or meaning in held:
            continue
        rivals = [-m for s, m, mean in claims if mean == meaning and s == score and -m not in given and -m != index]
        if rivals:
            index = _settle([index, *rivals], meaning, read, header, file)
        given[index] = meaning
        held.add(meaning)
    return given


def _settle(rivals: list[int], meaning: str, read: list[Heading], header: Sequence[str], file: str) -> int:
    """Of equal claims take the one in mm; for a column that is not needed, the first."""
    in_mm = [i for i in rivals if read[i].unit == "mm"]
    if len(in_mm) == 1 and len({read[i].unit for i in rivals}) > 1:
        return in_mm[0]
    if meaning in (*SIZES, "item", "sizes", "price", "currency", "supplier", "gauge", "pack"):
        both = " and ".join(f"column {i + 1} {header[i]!r}" for i in sorted(rivals))
        raise error("columns_conflict", where=file, saw=f"{both} could each be the {meaning}")
    return min(rivals)


def _says_unused(head: Heading) -> bool:
    return any(meaning == "unused" and score >= head.score for meaning, score in head.claims)


def _one_way_of_sizes(meanings: dict[int, str], file: str, header: Sequence[str]) -> dict[int, str]:
    """Sizes come from their own columns, else from one combined column, else from the description."""
    have = set(meanings.values())
    lacks = [size for size in SIZES if size not in have]
    if "strength" in lacks and "gauge" in have:
        lacks.remove("strength")
    if not lacks:
        drop = {"sizes"} | ({"gauge"} if "strength" in have else set())
    elif "sizes" in have:
        drop = {"gauge"} if "strength" not in lacks else set()
    elif "description" in have and len(lacks) >= 2:
        meanings = {i: "sizes" if meaning == "description" else meaning for i, meaning in meanings.items()}
        drop = set()
    else:
        drop = set()
    meanings = {i: "unused" if meaning in drop else meaning for i, meaning in meanings.items()}
    have = set(meanings.values())
    if "note" not in have:
        meanings = {i: "note" if meaning == "description" else meaning for i, meaning in meanings.items()}
    _refuse_missing(have, lacks, file, header)
    return {i: "unused" if meaning == "description" else meaning for i, meaning in meanings.items()}


def _refuse_missing(have: set[str], lacks: list[str], file: str, header: Sequence[str]) -> None:
    missing = [] if "sizes" in have else list(lacks)
    if "item" not in have:
        missing.insert(0, "item")
    if missing:
        raise columns_not_found(missing, header, file)


def columns_not_found(missing: Sequence[str], header: Sequence[str], file: str) -> OrderbookError:
    """Make the error for needed columns that no heading claims."""
    looked = {"item": "item, code, Artikelnummer, référence, codice …", "width": "width, Breite, hauteur, larghezza …"}
    looked |= {
        "strength": "strength, thickness, Stärke, force, spessore …",
        "length": "length, Länge, longueur, largo …",
    }
    words = "; ".join(f"{name} ({looked[name]})" for name in missing)
    saw = f"no column for {words}" + (
        f"; the headings are {_listed(header)}" if header else "; no header row was found"
    )
    return error("columns_not_found", where=file, saw=saw)


def _listed(header: Sequence[str]) -> str:
    named = [repr(text) for text in header if text]
    return ", ".join(named[:12]) + (f" and {len(named) - 12} more" if len(named) > 12 else "")


def _refuse_twice(meanings: dict[int, str], header: Sequence[str], file: str) -> None:
    for meaning in set(meanings.values()) - {"unused"}:
        same = [header[i] for i, m in meanings.items() if m == meaning]
        if len(same) > 1:
            raise error("columns_conflict", where=file, saw=f"the map makes {_listed(same)} each the {meaning}")


def _column(index: int, text: str, meaning: str, head: Heading, entry: MapEntry | None, words: Words) -> Column:
    why = "by the map" if entry else f"by its heading, {head.score:g}" if meaning != "unused" else ""
    if not entry and meaning == "unused" and head.meaning not in ("", "unused"):
        why = f"looks like {head.meaning}, which another column is"
    entry = entry or MapEntry(meaning)
    unit = (entry.unit or head.unit) if meaning in (*SIZES, "sizes") else ""
    pack, each = _price_for(head, words) if meaning == "price" else (0, False)
    currency = head.currency if meaning == "price" else ""
    return Column(index, text, meaning, unit, entry.decimal, currency, entry.pack or pack, entry.each or each, why)


def _price_for(head: Heading, words: Words) -> tuple[int, bool]:
    """How many pieces a price heading speaks of (0: not said), and whether it says "each"."""
    if number := re.search(r"(?<![0-9])([1-9][0-9]{0,3})(?![0-9])", head.text):
        return int(number[1]), False
    said = [word for word in head.tokens if word not in ("price", "unit")]
    for kind, count in (("dozen", 12), ("gross", 144)):
        if any(word in words.cells[kind] for word in said):
            return count, False
    each = any(word in words.cells["each"] or word in ("stuckpreis", "einzelpreis", "unitaire") for word in head.tokens)
    return 0, each or any(word in ("unitario", "stuksprijs", "eenheidsprijs") for word in head.tokens)
