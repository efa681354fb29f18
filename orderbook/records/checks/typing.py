"""How cells were typed: numbers, dates and hours as text, words spelled otherwise than listed, rows under a table.

In a workbook it matters how a cell is typed, for the sheet's own formulas see what stands there and nothing else. What
has one reading carries its cure; what has two, or none, is a finding alone. A file of text has nothing but text.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields
from datetime import date, timedelta
from typing import Any

from orderbook.errors import Finding, OrderbookError, finding
from orderbook.records import cells
from orderbook.records import tables as t
from orderbook.records.books import STORED, Books
from orderbook.records.definition import BookDefinition, Column, book_definition
from orderbook.records.identifiers import tidy
from orderbook.records.rows import Put, Row, is_blank
from orderbook.records.steps import Step
from orderbook.records.typed_readings import is_same_unit, reading_in

DAYS = (
    36_526,
    55_153,
)  # the numbers of days from 2000 to 2050; no length in mm, no count of turns or hours is like them
KEYED = {
    "restorations": ("Restorations", "restoration"), "barrels": ("Barrels", "barrel"), "needs": ("Needs", "need"),
    "suppliers": ("Suppliers", "supplier"), "units": ("Units", "unit"), "instruments": ("Instruments", "instrument"),
}  # fmt: skip
NAMES = (("Suppliers", "supplier"), ("Units", "unit"), ("Instruments", "instrument"))
Spellings = Mapping[str, str]
"""How a word reads without regard to capitals and blanks → how it is to be spelled."""


def fixes(books: Books) -> Iterator[Step]:
    """Return the cells of which there is one reading, and it is not the one the sheet's own formulas take."""
    yield from _numbers_and_dates(books)
    yield from _words(books)
    yield from _readings(books)


def _numbers_and_dates(books: Books) -> Iterator[Step]:
    for table, cls in _by_hand():
        worked = {c.key for c in book_definition().tables[table].columns if c.kind == "worked"}
        keys = [key for key in _of_type(cls, "Decimal | None", "int | None") if key not in worked]
        days = [key for key in _of_type(cls, "date | None") if key not in worked]
        for record in books.records(table):
            if not record.row.place.sheet:
                continue
            for key in keys:
                yield from _as_number(table, record, key)
            for key in days:
                yield from _as_date(table, record, key)


def _as_number(table: str, record: Any, key: str) -> Iterator[Step]:
    seen, value = record.row.values.get(key), getattr(record, key)
    is_clock = t.READERS[type(record)][key] is cells.hours and (cells.is_time(seen) or ":" in str(seen))
    if value is None or not (is_clock or type(seen) is str):
        return
    code, called = ("hours_typed_as_time", "hours") if is_clock else ("number_typed_as_text", "number")
    saw = (
        f"“{seen}” is a time of day, read as {value} hours"
        if is_clock
        else f"“{seen}” is text, read as the {called} {value}"
    )
    place = record.row.place
    yield Step(Put(table, place.row, {key: value}), finding(code, where=place.of(key), saw=saw))


def _as_date(table: str, record: Any, key: str) -> Iterator[Step]:
    seen, value = record.row.values.get(key), getattr(record, key)
    if type(seen) is str and value is not None:
        place = record.row.place
        saw = f"“{seen}” is text, read as the date {value}"
        yield Step(Put(table, place.row, {key: value}), finding("date_typed_as_text", where=place.of(key), saw=saw))


def _readings(books: Books) -> Iterator[Step]:
    """Readings typed as a text that is one number, its unit in it or beside it."""
    units = {_plain(u.unit): u for u in books.units if u.unit and u.mm}
    for row in books.readings:
        seen = row.row.values.get("value")
        if not isinstance(seen, str) or not row.row.place.sheet or not row.barrel:
            continue
        try:
            read = reading_in(seen, unit=row.unit, where=row.row.place.of("value"))
        except OrderbookError:
            continue  # said by the means: no reading of it, or two
        if read.number <= 0:
            continue  # no length, whatever is meant
        unit = row.unit
        if read.unit and not unit:
            unit = next((u.unit for u in units.values() if u.mm and is_same_unit(read.unit, float(u.mm))), "")
        if not unit or (read.unit and not _is_unit(read.unit, units.get(_plain(unit)))):
            continue
        values = {"value": read.number} | ({} if row.unit else {"unit": unit})
        saw = f"“{_visible(seen)}” is text, read as {read.number} {unit}"
        yield Step(
            Put("Readings", row.row.place.row, values),
            finding("reading_typed_as_text", where=row.row.place.of("value"), saw=saw),
        )


def _is_unit(word: str, unit: t.UnitRow | None) -> bool:
    return unit is not None and unit.mm is not None and is_same_unit(word, float(unit.mm))


def _words(books: Books) -> Iterator[Step]:
    """Identifiers and words of lists that are spelled otherwise than where they are listed."""
    book = book_definition()
    known = {name: _listed(books, table, key) for name, (table, key) in KEYED.items()}
    known |= {name: {_plain(word): word for word in words} for name, words in book.lists.items()}
    for table, cls in _by_hand():
        columns = [c for c in book.tables[table].columns if c.kind == "input" and (c.list or _is_name(table, c, cls))]
        for record in books.records(table):
            if record.row.place.sheet:
                for column in columns:
                    yield from _spelled(table, record.row, column, known.get(column.list, {}), cls)


def _spelled(table: str, row: Row, column: Column, known: Spellings, cls: type[Any]) -> Iterator[Step]:
    seen = row.values.get(column.key)
    if not isinstance(seen, str) or not seen.strip():
        return
    wanted = known.get(_plain(seen))
    if wanted is None:
        reader = t.READERS[cls].get(column.key)
        wanted = (
            tidy(seen) if reader is cells.identifier else seen.strip().upper() if column.key == "currency" else None
        )
    if wanted is None and (table, column.key) in NAMES:
        wanted = " ".join(seen.split())
    if wanted is not None and wanted != seen:
        saw = f"“{_visible(seen)}” is spelled otherwise than “{wanted}”"
        found = finding("word_spelled_otherwise", where=row.place.of(column.key), saw=saw)
        yield Step(Put(table, row.place.row, {column.key: wanted}), found)


def _is_name(table: str, column: Column, cls: type[Any]) -> bool:
    return t.READERS[cls].get(column.key) is cells.identifier or (table, column.key) in NAMES


def _listed(books: Books, table: str, key: str) -> dict[str, str]:
    found: dict[str, str] = {}
    for record in books.records(table):
        name = getattr(record, key)
        if name:
            found.setdefault(_plain(name), " ".join(str(name).split()))
    return found


def _plain(word: str) -> str:
    """Return a word without regard to capitals, blanks and kinds of dash."""
    return " ".join(word.casefold().replace("–", "-").replace("−", "-").split())


def _visible(text: str) -> str:
    """Show the blanks at the ends of a text, which nobody sees in a cell."""
    bare = text.strip()
    return text.replace(bare, f"{'␣' * text.index(bare)}{bare}").replace("\u00a0", "␣") if bare else text


def not_listed(books: Books, on: date) -> Iterator[Finding]:
    """Words that stand in no list where only listed ones do anything: what was read, and with which instrument."""
    book = book_definition()
    kinds, instruments = {_plain(word) for word in book.lists["what"]}, _listed(books, "Instruments", "instrument")
    for row in books.readings:
        if row.what and _plain(row.what) not in kinds:
            expected = f"Expected one of: {', '.join(book.lists['what'][:8])} …"
            saw = f"“{row.what}” is not one of the words used here"
            yield finding("word_not_listed", where=row.row.place.of("what"), saw=saw, expected=expected)
        if row.instrument and "Instruments" in books.tables and _plain(row.instrument) not in instruments:
            yield finding("instrument_not_listed", where=row.row.place.of("instrument"), saw=f"“{row.instrument}”")


def without_value(books: Books, on: date) -> Iterator[Finding]:
    """A reading of which all but the number was typed."""
    for row in books.readings:
        if row.barrel and row.what and row.value in (None, ""):
            yield finding("reading_not_used", where=row.row.place.of("value"), saw=f"{row.what}: no value yet")


def days_for_numbers(books: Books, on: date) -> Iterator[Finding]:
    """Numbers that are the numbers of days: what a typed 3/8 becomes where the cell has a format of its own."""
    for table, _ in _by_hand():
        keys = [c.key for c in _measured(table, book_definition())]
        for record in books.records(table) if keys else ():
            for key in keys:
                value = record.row.values.get(key)
                if isinstance(value, (int, float)) and DAYS[0] <= value <= DAYS[1] and value == int(value):
                    day = cells.DAY_0 + timedelta(days=int(value))
                    saw = f"{value:g}, the number of {day.day} {day:%B} {day.year}"
                    yield finding("cell_holds_day", where=record.row.place.of(key), saw=saw)


def _measured(table: str, book: BookDefinition) -> list[Column]:
    units = ("mm", "turns", "h", "clicks", "days", "of 1")
    return [c for c in book.tables[table].columns if c.kind == "input" and c.unit in units]


def below_tables(books: Books) -> list[Finding]:
    """Find rows typed under the last row of their table: its totals do not see them."""
    return [
        finding("row_below_table", where=row.place.of(), saw=_first_words(row.values))
        for rows in books.tables.values()
        for row in rows
        if row.place.below and not is_blank(row.values)
    ]


def _first_words(values: object) -> str:
    said = [str(v) for v in getattr(values, "values", dict)() if v not in (None, "")]
    return "“" + ", ".join(said[:3]) + "”"


def _by_hand() -> Iterable[tuple[str, type[Any]]]:
    return ((table, cls) for table, cls in t.RECORDS.items() if table not in STORED)


def _of_type(cls: Any, *kinds: str) -> list[str]:
    return [f.name for f in fields(cls) if f.type in kinds]
