"""Which column is which: the user's map first, then what the headings claim; equal claims are an error.

A price is not needed: where several columns could be the price, the one for a single piece is taken, and where they
cannot be told apart none is, and that is said.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from orderbook.catalogue.headings import SIZES, Heading, Part, heading
from orderbook.catalogue.maps import ColumnMap, MapEntry
from orderbook.catalogue.units import Unit, known_unit
from orderbook.catalogue.words import Words
from orderbook.errors import Finding, OrderbookError, error, finding

NEEDED_ONCE = (*SIZES, "item", "sizes", "currency", "supplier", "gauge", "pack", "unit")


@dataclass(frozen=True, slots=True)
class ListColumn:
    """A column of a list and what it was taken for.

    unit: of a bare number ("" if not said yet), and who said it: "map", "heading", "line" (of units), "title", "cells"
    or "" for nobody; doubt: a word that may be a unit; numbered: it says a number or a gauge; whole_numbers: another
    unit for numbers without decimals; order: what the numbers of one cell are. decimal: the column's mark. Of a price:
    currency, pack, each, minor (pence, cents), tax, and `sign`, which several currencies have.
    """

    index: int
    header: str
    meaning: str
    unit: str = ""
    said_by: str = ""
    doubt: str = ""
    numbered: bool = False
    whole_numbers: str = ""
    order: tuple[Part, ...] = ()
    decimal: str = ""
    currency: str = ""
    sign: str = ""
    pack: int = 0
    each: bool = False
    minor: bool = False
    tax: str = ""
    why: str = ""


@dataclass(frozen=True, slots=True)
class Named:
    """The columns of a table, and what to tell about how they were chosen."""

    columns: tuple[ListColumn, ...]
    findings: tuple[Finding, ...] = field(default=())


def name_columns(header: Sequence[str], file: str, words: Words, column_map: ColumnMap) -> Named:
    """Give each column its meaning, or "unused".

    Raises: OrderbookError(columns_conflict | columns_not_found | map_does_not_fit) with the headings that were found.
    """
    read = [heading(text, words) for text in header]
    mapped = column_map.places(header, file)
    meanings = {i: entry.meaning for i, entry in mapped.items()}
    _refuse_twice(meanings, header, file)
    findings: list[Finding] = []
    meanings |= _claimed(read, meanings, header, file, findings)
    all_understood = all(
        head.claims or not text or i in mapped for i, (head, text) in enumerate(zip(read, header, strict=True))
    )
    meanings = _one_way_of_sizes(meanings, file, header, all_understood)
    columns = [_column(i, text, meanings.get(i, "unused"), read[i], mapped.get(i)) for i, text in enumerate(header)]
    return Named(tuple(columns), tuple(findings))


def _claimed(
    read: list[Heading], taken: dict[int, str], header: Sequence[str], file: str, findings: list[Finding]
) -> dict[int, str]:
    """Deal the meanings out, the strongest claim first."""
    held = set(taken.values()) - {"unused"}
    given: dict[int, str] = {}
    free = [i for i in range(len(read)) if i not in taken]
    if "price" not in held:
        price, losers, told = _the_price([i for i in free if read[i].meaning == "price"], read, header, file)
        findings += told
        given |= dict.fromkeys(losers, "unused") | ({} if price is None else {price: "price"})
        held.add("price")
    claims = [
        (score, -i, meaning)
        for i in free
        for meaning, score in (read[i].claims if not _says_unused(read[i]) else ())
        if meaning != "price"
    ]
    for score, minus, meaning in sorted(claims, reverse=True):
        index = -minus
        if index in given or meaning in held:
            continue
        rivals = [-m for s, m, mean in claims if mean == meaning and s == score and -m not in given and -m != index]
        if rivals:
            index = _settle([index, *rivals], meaning, read, header, file)
        given[index] = meaning
        held.add(meaning)
    if "item" not in held:  # a bar code is a number to order by where there is no other
        code = [i for i in free if i not in given and any(meaning == "item" for meaning, _ in read[i].claims)]
        given |= dict.fromkeys(code[:1], "item")
    _refuse_height_beside_width(given, read, header, file)
    return given


def _the_price(
    columns: list[int], read: list[Heading], header: Sequence[str], file: str
) -> tuple[int | None, list[int], list[Finding]]:
    """Choose the column of the price for one piece: its index, the other columns of prices, and what to tell."""
    current = [i for i in columns if not read[i].price.old] or columns
    plain = [i for i in current if not read[i].price.recommended] or current
    tiers = [i for i in plain if read[i].price.tier]
    no_tier = [i for i in plain if i not in tiers]
    chosen = no_tier or [i for i in tiers if read[i].price.tier == 1]
    if len(chosen) > 1:
        chosen = [i for i in chosen if read[i].price.each or read[i].price.pack == 1] or chosen
    if len({read[i].price.tax for i in chosen}) > 1:  # with tax and without: which does one pay?
        chosen = chosen * 2
    elif len(chosen) > 1:
        best = max(read[i].score for i in chosen)
        chosen = [i for i in chosen if read[i].score > best - 0.75 and not read[i].price.pack] or chosen
    if len(columns) < 2 and chosen:
        return chosen[0], [], []
    if not columns:
        return None, [], []
    named = _listed([header[i] for i in columns])
    if len(chosen) != 1:
        return (
            None,
            columns,
            [finding("price_unclear", where=file, saw=f"{named} could each be the price of one piece")],
        )
    rest = [i for i in columns if i != chosen[0]]
    saw = f"{header[chosen[0]]!r} is taken for the price, not {_listed([header[i] for i in rest])}"
    return chosen[0], rest, [finding("prices_several", where=file, saw=saw)]


def _settle(rivals: list[int], meaning: str, read: list[Heading], header: Sequence[str], file: str) -> int:
    """Of equal claims take the one in mm; for a column that is not needed, the first."""
    in_mm = [i for i in rivals if read[i].unit is not None and read[i].unit.name == "mm"]  # type: ignore[union-attr]
    if len(in_mm) == 1 and len({read[i].unit for i in rivals}) > 1:
        return in_mm[0]
    if meaning in NEEDED_ONCE:
        both = " and ".join(f"column {i + 1} {header[i]!r}" for i in sorted(rivals))
        raise error("columns_conflict", where=file, saw=f"{both} could each be the {meaning}")
    return min(rivals)


def _refuse_height_beside_width(given: dict[int, str], read: list[Heading], header: Sequence[str], file: str) -> None:
    """A list with a height and a width beside it: either may be the strip's."""
    width = next((i for i, meaning in given.items() if meaning == "width"), None)
    if width is None:
        return
    others = [i for i, head in enumerate(read) if head.meaning == "width" and i not in given]
    if other := next((i for i in others if read[i].high != read[width].high), None):
        both = f"{header[width]!r} and {header[other]!r}"
        raise error("columns_conflict", where=file, saw=f"{both} could each be the width of the strip")


def _says_unused(head: Heading) -> bool:
    return any(meaning == "unused" and score >= head.score for meaning, score in head.claims)


def _one_way_of_sizes(
    meanings: dict[int, str], file: str, header: Sequence[str], all_understood: bool
) -> dict[int, str]:
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
    if "item" not in have and "description" in have and all_understood:
        meanings = {i: "item" if meaning == "description" else meaning for i, meaning in meanings.items()}
    elif "note" not in have:
        meanings = {i: "note" if meaning == "description" else meaning for i, meaning in meanings.items()}
    _refuse_missing(set(meanings.values()), lacks, file, header)
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


def _column(index: int, text: str, meaning: str, head: Heading, entry: MapEntry | None) -> ListColumn:
    if entry is not None:
        return _by_the_map(index, text, entry, head)
    why = f"by its heading, {head.score:g}" if meaning != "unused" else ""
    if meaning == "unused" and head.meaning not in ("", "unused"):
        why = f"looks like {head.meaning}, which another column is"
    column = ListColumn(index, text, meaning, why=why)
    if meaning in (*SIZES, "sizes", "gauge"):
        if meaning == "gauge" and head.unit is not None:  # a strength by a wire gauge, in mm
            column = replace(column, meaning="strength")
        elif meaning == "strength" and head.numbered and head.unit is None:
            column = replace(column, meaning="gauge")
        unit = head.unit.name if head.unit is not None else ""
        numbered = head.numbered and not (meaning == "gauge" or column.meaning == "gauge")
        return replace(
            column, unit=unit, said_by="heading" if unit else "", doubt=head.doubt, numbered=numbered, order=head.order
        )
    if meaning == "price":
        said = head.price
        return replace(
            column, currency=said.currency, sign=said.sign, pack=said.pack, each=said.each, minor=said.minor,
            tax=said.tax,
            doubt=said.unclear,
        )  # fmt: skip
    return column


def _by_the_map(index: int, text: str, entry: MapEntry, head: Heading) -> ListColumn:
    sized = entry.meaning in (*SIZES, "sizes", "gauge")
    unit = (entry.unit or (head.unit.name if head.unit is not None else "")) if sized else ""
    said = head.price
    column = ListColumn(
        index, text, entry.meaning, unit=unit, said_by="map" if entry.unit and sized else "heading" if unit else "",
        whole_numbers=entry.whole_numbers, order=order_of(entry.order) if entry.order else head.order,
        decimal=entry.decimal, why="by the map",
    )  # fmt: skip
    if entry.meaning != "price":
        return column if entry.unit or not sized else replace(column, doubt=head.doubt, numbered=head.numbered)
    minor = entry.unit.casefold() in MINOR_UNITS or said.minor
    pack, each = (entry.pack, entry.each) if entry.pack or entry.each else (said.pack, said.each)
    return replace(column, currency=said.currency, sign=said.sign, pack=pack, each=each, minor=minor, tax=said.tax)


MINOR_UNITS = frozenset(["pence", "penny", "p", "cent", "cents", "ct", "rappen", "centime", "centimes"])


def order_of(text: str) -> tuple[Part, ...]:
    """Read the order of the numbers of one column: names with an x between, "barrel" or "unused" for one to leave out.

    >>> [part.meaning for part in order_of("barrel x width x strength x length")]
    ['', 'width', 'strength', 'length']
    """
    parts = []
    for piece in re.split(r"\s+x\s+|[,/*×]", text.strip().casefold()):
        name, _, unit = piece.strip().partition(" ")
        mm = known_unit(unit) if unit else None
        parts.append(Part(name if name in SIZES else "", Unit(unit, mm) if mm is not None else None))
    return tuple(parts)
