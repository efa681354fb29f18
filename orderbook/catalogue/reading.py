"""Read suppliers' lists: every row is kept, rejected with its reason, or counted as a duplicate.

One way for short and long lists. Every list is walked through once to decide how its columns are read, from all its
cells, and its rows are then read stretch by stretch; of a short list the stretches are kept between, a long one is
walked
through twice, so that any list needs no more memory than a short one.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import islice
from pathlib import Path
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from orderbook.catalogue.blocks import Block, Cell, Coded, coded, shown, size_cell
from orderbook.catalogue.context import Hints, hints_of, together
from orderbook.catalogue.duplicates import (
    Repeats,
    about_items_again,
    about_items_that_differ,
    all_items_differ,
    first_of_each,
    lines_text,
)
from orderbook.catalogue.faults import Faults
from orderbook.catalogue.frames import FRAME, frame_list, parquet_list
from orderbook.catalogue.gauges import GaugeTable, gauge_table
from orderbook.catalogue.headings import SIZES, heading
from orderbook.catalogue.maps import ColumnMap, map_beside, read_map
from orderbook.catalogue.naming import ListColumn, columns_not_found, name_columns
from orderbook.catalogue.opening import Limits, open_list
from orderbook.catalogue.plan import ReadingPlan, decided, in_context
from orderbook.catalogue.pricing import Unread
from orderbook.catalogue.row_sizes import sizes_of
from orderbook.catalogue.rows import Converted, convert
from orderbook.catalogue.sheets import labelled_lists, sheet_lists
from orderbook.catalogue.sizes import Written
from orderbook.catalogue.springs import Catalogue, CatalogueReading, ColumnTaken, Reject, SpringAsRead, price_text
from orderbook.catalogue.stretches import Head, Stretch, Walk, meant_short
from orderbook.catalogue.texts import PIECE, Progress, Wanted, text_list
from orderbook.catalogue.usual import refuse_unusual
from orderbook.catalogue.words import Words, is_currency, shipped_words
from orderbook.errors import Finding, OrderbookError, error, finding

SAMPLES = 3
SHOWN = 5
KEPT_CELLS = 200_000  # distinct cells of a column kept as evidence; beyond, only cells of a new shape
SAMPLED = 2_000  # rows of a stretch whose sizes are looked at together
SAMPLED_OF_ALL = 40_000
HELD_CELLS = 10_000_000  # cells of stretches that are held between deciding and reading
HELD_IN_PIECES = 2_000_000  # and where a list is read piece by piece
SIZED = (*SIZES, "sizes", "gauge", "unit")
SHOWN_COLUMNS = ("sizes", *SIZES, "gauge", "unit", "price", "pack")
DECIDING = (*SIZED, "price", "pack", "currency")


class List(Protocol):
    """A list that can be walked through again and again."""

    @property
    def file(self) -> str:
        """What it is called."""

    @property
    def head(self) -> Head:
        """Its first heading."""

    def stretches(self, meant: Mapping[int, int]) -> Iterator[tuple[Stretch | None, Walk]]:
        """Yield every stretch with the walk so far; None at the end."""


@dataclass(frozen=True, slots=True)
class Ways:
    """How lists are to be read: what the user said, and what is assumed."""

    words: Words
    supplier: str = ""
    column_map: ColumnMap | None = None
    gauge: GaugeTable | None = None
    sheet: str | None = None
    currency: str = ""
    name: str = ""  # of the list: whose it is where nobody says the supplier
    limits: Limits = field(default_factory=Limits)
    piece_bytes: int = PIECE
    held_cells: int = HELD_CELLS
    progress: Progress | None = None

    @property
    def map(self) -> ColumnMap:
        """The map, an empty one where there is none."""
        return self.column_map or ColumnMap()


def read_catalogue(
    lists: Any,
    *,
    supplier: str | None = None,
    column_map: ColumnMap | str | Path | None = None,
    gauge: str | Path | None = None,
    sheet: str | None = None,
    currency: str | None = None,
    words: str | Path | None = None,
    limits: Limits | None = None,
) -> CatalogueReading:
    """Read one or several suppliers' lists as one catalogue.

    Parameters: lists, a path or a data frame (or anything with columns), or several of them; supplier, for lists that
    do not say it; column_map, a TOML file or a ColumnMap, used before any guess (without one, the map that lies beside
    a list is used); gauge, a CSV `gauge,number,mm` or the name of a shipped one; currency, of prices that do not say
    it; words, a TOML file of further heading words; limits, what is refused as too large.
    Returns: springs in mm and minor units, rejects, what each column was taken for, row counts, findings.
    Raises: OrderbookError if a list cannot be read, or can be read in two ways; OSError if it cannot be opened.

    >>> from orderbook.locate import data_folder
    >>> reading = read_catalogue(data_folder("demo_catalog") / "supplier_west.csv")
    >>> reading.counts()
    {'rows_in': 255, 'rows_kept': 255, 'rows_rejected': 0, 'rows_duplicate': 0}
    >>> round(float(reading.catalogue.strength_mm[0]), 5)  # 0.0031 in
    0.07874
    """
    ways = ways_of(
        supplier=supplier, column_map=column_map, gauge=gauge, sheet=sheet, currency=currency, words=words,
        limits=limits,
    )  # fmt: skip
    return joined([part for one in _several(lists) for part in parts_of(one, ways)])


def read_catalogue_chunks(
    lists: Any,
    *,
    supplier: str | None = None,
    column_map: ColumnMap | str | Path | None = None,
    gauge: str | Path | None = None,
    sheet: str | None = None,
    currency: str | None = None,
    words: str | Path | None = None,
    limits: Limits | None = None,
    piece_bytes: int = PIECE,
    progress: Progress | None = None,
) -> Iterator[CatalogueReading]:
    """Read lists piece by piece: the same springs, rejects and duplicates as `read_catalogue`, in bounded memory.

    Parameters: as `read_catalogue`; piece_bytes, how much text is held at a time; progress, called with the bytes
    done and the bytes there are.
    Returns: a reading for each piece; line numbers are those of the list.
    Raises: as `read_catalogue`, before the first piece of the list.

    >>> from orderbook.locate import data_folder
    >>> pieces = read_catalogue_chunks(data_folder("demo_catalog") / "supplier_north_watch.csv", piece_bytes=20_000)
    >>> sum(reading.rows_kept for reading in pieces)
    1039
    """
    ways = ways_of(
        supplier=supplier, column_map=column_map, gauge=gauge, sheet=sheet, currency=currency, words=words,
        limits=limits,
    )  # fmt: skip
    ways = replace(ways, piece_bytes=piece_bytes, progress=progress, held_cells=HELD_IN_PIECES)
    repeats = Repeats()
    for one in _several(lists):
        for part in parts_of(one, ways):
            reading = joined([part])
            kept = tuple(found for found in reading.findings if found.code != "no_row_kept")
            yield without_repeats(replace(reading, findings=kept), repeats)


def ways_of(
    *,
    supplier: str | None = None,
    column_map: ColumnMap | str | Path | None = None,
    gauge: str | Path | None = None,
    sheet: str | None = None,
    currency: str | None = None,
    words: str | Path | None = None,
    limits: Limits | None = None,
) -> Ways:
    """Gather what the user said about the lists.

    Raises: OrderbookError(currency_not_known) and what reading a map, a gauge table or a word file raises.
    """
    known = read_map(column_map) if isinstance(column_map, (str, Path)) else column_map
    ways = Ways(
        words=shipped_words(words),
        supplier=supplier or "",
        gauge=gauge_table(gauge) if gauge else None,
        sheet=sheet,
        currency=_known_currency(currency or ""),
        limits=limits or Limits(),
    )
    return with_map(ways, known) if known is not None else ways


def with_map(ways: Ways, known: ColumnMap) -> Ways:
    """Add what a map says, where the user said nothing else."""
    return replace(
        ways,
        column_map=known,
        supplier=ways.supplier or known.supplier,
        currency=ways.currency or _known_currency(known.currency),
        gauge=ways.gauge or (gauge_table(known.gauge) if known.gauge else None),
        sheet=ways.sheet or known.sheet or None,
    )


def _known_currency(currency: str) -> str:
    code = currency.strip().upper()
    if code and not is_currency(code):
        raise error("currency_not_known", where="currency", saw=code)
    return code


def _several(lists: Any) -> list[Any]:
    if isinstance(lists, (str, Path)) or hasattr(lists, "columns") or hasattr(lists, "column_names"):
        return [lists]
    return [lists] if isinstance(lists, Mapping) else list(lists)


@dataclass(frozen=True, slots=True)
class StretchRead:
    """A stretch, read; with its first one each table tells what its columns were taken for, and what else there is."""

    converted: Converted
    columns: tuple[ColumnTaken, ...] = ()
    misfits: tuple[Reject, ...] = ()
    findings: tuple[Finding, ...] = ()
    file: str = ""
    repeated: tuple[int, ...] = ()  # lines in which the heading stands again
    shown: tuple[SpringAsRead, ...] = ()


@dataclass(slots=True)
class CellsSeen:
    """The distinct cells of a column over all stretches, as `plan.decided` asks for them."""

    seen: dict[Cell, int] = field(default_factory=dict)
    shapes: set[str] = field(default_factory=set)

    def add(self, column: Coded) -> None:
        """Take in the cells of one more stretch."""
        for cell, count in zip(column.cells, column.counts.tolist(), strict=True):
            if not count:
                continue
            if cell in self.seen:
                self.seen[cell] += count
            elif len(self.seen) < KEPT_CELLS or self._is_new_shape(cell):
                self.seen[cell] = count

    def _is_new_shape(self, cell: Cell) -> bool:
        shape = re.sub(r"[0-9]", "9", str(cell))
        new = shape not in self.shapes
        self.shapes.add(shape)
        return new

    @property
    def cells(self) -> list[Cell]:
        """The distinct cells."""
        return list(self.seen)

    @property
    def texts(self) -> list[str]:
        """The distinct cells as text."""
        return coded(self.cells).texts

    @property
    def sizes(self) -> list[Written | None]:
        """The distinct cells taken apart."""
        return [size_cell(cell) for cell in self.seen]

    @property
    def counts(self) -> NDArray[np.int64]:
        """How many rows have each."""
        return np.fromiter(self.seen.values(), dtype=np.int64, count=len(self.seen))


@dataclass(slots=True)
class TableLooked:
    """What was seen of one table of a list before its rows are read."""

    head: Head
    draft: ReadingPlan
    evidence: dict[int, CellsSeen]
    sample: list[Block] = field(default_factory=list)
    sampled: int = 0
    rows: int = 0
    short: Counter[int] = field(default_factory=Counter)
    samples: dict[int, list[str]] = field(default_factory=dict)
    plan: ReadingPlan | None = None
    refused: OrderbookError | None = None
    left_out: bool = False
    to_show: frozenset[int] = frozenset()  # lines of springs to show beside their text

    def add(self, stretch: Stretch) -> None:
        """Take in one more stretch."""
        for index, found in self.evidence.items():
            found.add(stretch.block.columns[index])
        self.short += stretch.short
        self.rows += stretch.rows
        for index, column in enumerate(stretch.block.columns):
            samples = self.samples.setdefault(index, [])
            if len(samples) < SAMPLES:
                new = (text for cell in column.cells if (text := shown(cell)) and text != self.head.header[index])
                samples += islice((text for text in new if text not in samples), SAMPLES - len(samples))
        if self.sampled < SAMPLED_OF_ALL and len(stretch.block):
            sized = {column.index for column in self.draft.columns if column.meaning in SIZED}
            part = _some_rows(stretch.block, sized)
            self.sample.append(part)
            self.sampled += len(part)


def parts_of(one: Any, ways: Ways) -> Iterator[StretchRead]:
    """Read one list, stretch by stretch.

    Raises: as `read_catalogue`.
    """
    lists, findings, ways = lists_of(one, ways)
    looked = [looked_through(each, ways) for each in lists]
    tables = [table for seen in looked for table in seen.tables]
    findings = (*findings, *_judged(tables, len(lists) > 1))
    for each, seen in zip(lists, looked, strict=True):
        for part in _read(each, seen, ways):
            yield replace(part, findings=(*findings, *part.findings))
            findings = ()


@dataclass(slots=True)
class Looked:
    """A list that was walked through: its tables, the stretches if they were few, remarks at the end."""

    tables: list[TableLooked]
    held: list[Stretch] | None
    footers: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()


def lists_of(one: Any, ways: Ways) -> tuple[list[List], tuple[Finding, ...], Ways]:
    """Open one list: its sheets that are to be read, what to tell, and the ways with the map that was found beside it.

    Raises: as `read_catalogue`.
    """
    if not isinstance(one, (str, Path)):
        wanted = _wanted(ways)
        return [frame_list(one, ways.words, ways.limits, wanted)], (), _named_after(ways, FRAME)
    path, told = Path(one), []
    if ways.column_map is None and (beside := map_beside(path)) is not None:
        ways = with_map(ways, read_map(beside))
        told.append(finding("map_used", where=path.name, saw=f"read by {beside.name}"))
    opened = open_list(path, ways.limits)
    where, wanted = str(path), _wanted(ways)
    lists: list[List]
    if opened.kind == "sheet":
        sheets, findings = sheet_lists(opened.data, path.name, where, ways.limits, ways.words, wanted, ways.sheet)
        if not sheets:
            raise columns_not_found(("item", *SIZES), (), path.name)
        lists, told = [*labelled_lists(sheets)], [*told, *findings]
    elif opened.kind == "parquet":
        lists = [parquet_list(opened.open, path.name, where, ways.words, ways.limits, wanted)]
    else:
        text = text_list(
            path.name, where, opened.open, opened.size, ways.words, ways.limits, wanted, ways.piece_bytes, ways.progress
        )
        lists, told = [text], [*told, *text.letters.findings]
    return lists, tuple(told), _named_after(ways, path.name)


def _wanted(ways: Ways) -> Wanted:
    known = ways.map
    return Wanted(known.known, known.delimiter, known.headings, known.last_place)


def _named_after(ways: Ways, file: str) -> Ways:
    """A list that does not say its supplier is named after its file."""
    return ways if ways.supplier else replace(ways, name=file.split(".")[0])


def draft(head: Head, ways: Ways) -> ReadingPlan:
    """Name the columns of a table; units and marks are still open."""
    named = name_columns(head.header, head.file, ways.words, ways.map)
    supplier = ways.supplier or ways.name
    return ReadingPlan(
        head.file, head.header, named.columns, ways.words, supplier, ways.currency, ways.gauge, findings=named.findings
    )


def looked_through(source: List, ways: Ways, hold: bool = True) -> Looked:
    """Walk through a list once: evidence for each of its tables, and its stretches if they are few and wanted."""
    tables: dict[int, TableLooked] = {}
    held: list[Stretch] | None = [] if hold else None
    cells, footers = 0, tuple[str, ...]()
    refused: dict[int, OrderbookError] = {}
    for stretch, walk in source.stretches({}):
        if stretch is None:
            footers = walk.footers
            break
        head = stretch.head
        if head.number not in tables:
            tables[head.number] = _table(head, ways, refused)
        tables[head.number].head = head
        tables[head.number].add(stretch)
        cells += len(stretch.block) * max(1, head.width)
        if held is not None:
            held.append(stretch)
        if cells > ways.held_cells:
            held = None
    if not tables:
        tables[source.head.number] = _table(source.head, ways, refused)
    made = list(tables.values())
    for table in made:
        table.refused = refused.get(table.head.number)
        _plan(table, footers, ways)
        if meant_short(table.short, table.rows):
            held = None  # short rows that are meant fit after all
    return Looked(made, held, footers)


def _table(head: Head, ways: Ways, refused: dict[int, OrderbookError]) -> TableLooked:
    try:
        plan = draft(head, ways)
    except OrderbookError as problem:
        refused[head.number] = problem
        plan = ReadingPlan(head.file, head.header, (), ways.words)
    evidence = {column.index: CellsSeen() for column in plan.columns if column.meaning in DECIDING}
    return TableLooked(head, plan, evidence)


def _plan(table: TableLooked, footers: Sequence[str], ways: Ways) -> None:
    """Decide how a table is read; or keep the reason why it cannot be."""
    if table.refused is not None:
        return
    empty = CellsSeen()
    try:
        plan = in_context(table.draft, table.head.units, _hints(table.head, footers, ways.words))
        plan = decided(plan, [table.evidence.get(index, empty) for index in range(table.head.width)])
        _refuse_unusual(table, plan)
        table.plan, table.to_show = plan, _worth_showing(table, plan)
    except OrderbookError as problem:
        table.refused = problem


def _hints(head: Head, footers: Sequence[str], words: Words) -> Hints:
    """What the lines around a table say; of a section what its own remarks say, and else what stands above."""
    above = together(hints_of(text, words) for text in head.titles)
    below = together(hints_of(text, words) for text in footers)
    if not above.units and not above.doubts:
        above = together([below, above])
    elif below.units and any(above.units.get(size, unit) != unit for size, unit in below.units.items()):
        above = replace(above, doubts={**above.doubts, "all": f"{above.text} / {below.text}"})
    else:
        above = replace(above, currency=above.currency or below.currency, tax=above.tax or below.tax)
        above = above if above.pack or above.each else replace(above, pack=below.pack, each=below.each)
    for text in (*head.above, *head.section):
        above = hints_of(text, words).over(above)
    return replace(above, doubts={**above.doubts, "all": head.unsure}) if head.unsure else above


def _refuse_unusual(table: TableLooked, plan: ReadingPlan) -> None:
    if plan.is_the_users:
        return
    sizes: list[list[NDArray[np.float64]]] = []
    for part in table.sample:
        faults = Faults.none(len(part))
        found = sizes_of(part, replace(plan, lenient=True), faults)
        sizes.append(found)
    if not sizes:
        return
    width, strength, length = (np.concatenate(column) for column in zip(*sizes, strict=True))
    columns = [plan.column(meaning) or plan.column("sizes") or plan.column("gauge") for meaning in SIZES]
    if (gauge := plan.column("gauge")) is not None:
        columns[1] = gauge
    names = [column.header if column else meaning for column, meaning in zip(columns, SIZES, strict=True)]
    refuse_unusual(width, strength, length, (names[0], names[1], names[2]), plan.file)


def _worth_showing(table: TableLooked, plan: ReadingPlan) -> frozenset[int]:
    """The lines of the weakest spring, the middle one and the strongest."""
    lines, strengths = [], []
    for part in table.sample:
        faults = Faults.none(len(part))
        _, strength, _ = sizes_of(part, plan, faults)
        good = faults.number == 0
        lines.append(part.lines[good])
        strengths.append(strength[good])
    if not lines or not sum(map(len, lines)):
        return frozenset()
    order = np.argsort(np.concatenate(strengths), kind="stable")
    which = np.concatenate(lines)[order]
    return frozenset({int(which[0]), int(which[len(which) // 2]), int(which[-1])})


def _judged(tables: Sequence[TableLooked], sheets: bool) -> list[Finding]:
    """Refuse a list whose rows mostly cannot be read; of any other, tell of the tables that were left out.

    Raises: the OrderbookError of the largest table that cannot be read.
    """
    refused = [(table, table.refused) for table in tables if table.refused is not None]
    right = sum(table.rows for table in tables if table.refused is None)
    others = [table for table, problem in refused if sheets and right and _of_other_things(table, problem)]
    for table in others:  # a sheet of other things
        table.left_out = True
    refused = [(table, problem) for table, problem in refused if not table.left_out]
    wrong = sum(table.rows for table, _ in refused)
    if refused and (not right or (wrong > right and not sheets)):
        raise max(refused, key=lambda one: one[0].rows)[1]
    told = [
        finding("sheet_not_read", where=table.head.file, saw=table.refused.saw) for table in others if table.refused
    ]
    for table, problem in refused:
        saw = f"{table.rows} rows below line {table.head.line} are left out: {problem.saw}"
        told.append(finding("table_not_read", where=table.head.file, saw=saw))
    return told


def _of_other_things(table: TableLooked, problem: OrderbookError) -> bool:
    """Whether a sheet lacks more than one size, so that it is no list of springs."""
    sized = {heading(text, table.draft.words).meaning for text in table.head.header} & {*SIZES, "gauge", "sizes"}
    return problem.code == "columns_not_found" and len(sized) < 2


def _read(source: List, looked: Looked, ways: Ways) -> Iterator[StretchRead]:
    """Read the rows of a list by the plans of its tables."""
    plans = {table.head.number: table for table in looked.tables}
    told: set[int] = set()
    meant = {t.head.number: meant_short(t.short, t.rows) for t in looked.tables if meant_short(t.short, t.rows)}
    again = (stretch for stretch, _ in source.stretches(meant) if stretch is not None)
    met = False
    for stretch in looked.held if looked.held is not None else again:
        table = plans[stretch.head.number]
        met = True
        if table.left_out:
            continue
        yield _part(stretch, table, ways, first=stretch.head.number not in told)
        told.add(stretch.head.number)
    if not met and looked.tables[0].plan is not None:
        table = looked.tables[0]
        none = Stretch(table.head, Block(np.zeros(0, dtype=np.int64), tuple(coded([]) for _ in table.head.header)))
        yield _part(none, table, ways, first=True)


def _part(stretch: Stretch, table: TableLooked, ways: Ways, first: bool) -> StretchRead:
    plan = table.plan
    if plan is None:
        return _all_rejected(stretch, table, first)
    converted = convert(stretch.block, plan)
    said = sorted(set(converted.catalogue.currency.tolist()) - {""})
    columns: tuple[ColumnTaken, ...] = ()
    if first:
        columns = tuple(taken(column, table, plan, " ".join(said)) for column in plan.columns)
    findings = [*plan.findings, *_about_supplier(plan, ways)] if first else []
    repeated = (*stretch.repeated, *converted.repeated)
    shown = _shown(stretch, table, converted.catalogue, plan)
    return StretchRead(converted, columns, stretch.rejects, tuple(findings), plan.file, repeated, shown)


def _shown(stretch: Stretch, table: TableLooked, springs: Catalogue, plan: ReadingPlan) -> tuple[SpringAsRead, ...]:
    """The springs of this stretch that are worth showing, with the text they came from."""
    kept = set(springs.line.tolist()) if table.to_show else set()
    wanted = [line for line in table.to_show if line in kept]
    told = [column for meaning in SHOWN_COLUMNS if (column := plan.column(meaning)) is not None]
    found = []
    for line in sorted(wanted):
        spring = springs.row(int(np.flatnonzero(springs.line == line)[0]))
        row = int(np.flatnonzero(stretch.block.lines == line)[0])
        cells = [
            (column.header or f"column {column.index + 1}", stretch.block.columns[column.index]) for column in told
        ]
        said = tuple((name, text) for name, cell in cells if (text := cell.texts[cell.codes[row]]))
        price = price_text(spring["price_minor"], spring["currency"])
        per = f" for {spring['pack']}" if spring["pack"] > 1 and price else ""
        sizes = (spring["width_mm"], spring["strength_mm"], spring["length_mm"])
        printed = f"{price} {spring['currency']}".strip() + per
        found.append(SpringAsRead(plan.file, line, spring["item"], *sizes, printed, said, stretch.head.number))
    return tuple(found)


def _about_supplier(plan: ReadingPlan, ways: Ways) -> list[Finding]:
    if ways.supplier or plan.column("supplier") is not None or not plan.supplier:
        return []
    return [finding("supplier_from_file_name", where=plan.file, saw=f"no supplier; called {plan.supplier!r}")]


def _all_rejected(stretch: Stretch, table: TableLooked, first: bool) -> StretchRead:
    """The rows of a table that cannot be read, each with the reason; and what was taken for its heading."""
    problem = table.refused
    assert problem is not None
    block = stretch.block
    rejects = [
        Reject(
            stretch.head.file, int(block.lines[row]), "", " | ".join(c.texts[c.codes[row]] for c in block.columns),
            problem.saw, problem.try_this,
        )
        for row in range(len(block))
    ]  # fmt: skip
    head = stretch.head
    if first and head.number and head.line:
        text = " | ".join(head.header)
        rejects.insert(
            0, Reject(head.file, head.line, "", text, f"taken for a heading: {problem.saw}", problem.try_this)
        )
    return StretchRead(Converted(Catalogue.concat([]), rejects, len(rejects)), (), stretch.rejects)


def taken(column: ListColumn, table: TableLooked, plan: ReadingPlan, currencies: str) -> ColumnTaken:
    """Say what a column was taken for, with samples."""
    samples = tuple(table.samples.get(column.index, ()))
    unit = (currencies or column.currency) if column.meaning == "price" else column.unit
    return ColumnTaken(
        column.header, column.meaning, unit, samples, plan.file, column.decimal, column.why, column.pack, column.each,
        table.head.number,
    )  # fmt: skip


def joined(parts: Sequence[StretchRead]) -> CatalogueReading:
    """Join what was read of all lists: duplicates are dropped and counted, and the account of rows is drawn up."""
    springs = Catalogue.concat([part.converted.catalogue for part in parts])
    unique = all_items_differ(springs)
    kept = springs if unique else springs.take(first_of_each(springs))
    rejects = sorted(
        (reject for part in parts for reject in (*part.misfits, *part.converted.rejects)),
        key=lambda reject: (reject.file, reject.line),
    )
    return CatalogueReading(
        catalogue=kept,
        rejects=tuple(rejects),
        columns=tuple(column for part in parts for column in part.columns),
        rows_in=sum(part.converted.rows_in + len(part.misfits) for part in parts),
        rows_kept=len(kept),
        rows_rejected=len(rejects),
        rows_duplicate=len(springs) - len(kept),
        findings=tuple(_findings(parts, kept, len(rejects), unique)),
        shown=tuple(shown for part in parts for shown in part.shown),
    )


def without_repeats(reading: CatalogueReading, repeats: Repeats) -> CatalogueReading:
    """Drop and count the rows that an earlier piece had, and tell of items that differ from it."""
    springs = reading.catalogue
    new, again = repeats.sort_out(springs)
    kept = springs if new.all() else springs.take(new)
    dropped = len(springs) - len(kept)
    return replace(
        reading,
        catalogue=kept,
        rows_kept=len(kept),
        rows_duplicate=reading.rows_duplicate + dropped,
        findings=(*reading.findings, *about_items_again(springs, again)),
    )


def _findings(parts: Sequence[StretchRead], kept: Catalogue, rejected: int, unique: bool) -> list[Finding]:
    findings = list(dict.fromkeys(found for part in parts for found in part.findings))
    for file in dict.fromkeys(part.file for part in parts):
        if repeated := sorted(line for part in parts if part.file == file for line in part.repeated):
            saw = f"the header stands again in line {lines_text(repeated)}"
            findings.append(finding("header_repeated", where=file, saw=saw))
    findings += _about_prices(parts)
    if not unique:
        findings += about_items_that_differ(kept)
    if not len(kept):
        findings.append(finding("no_row_kept", where="catalogue", saw=f"{rejected} rows, none of them a spring"))
    return findings


def _about_prices(parts: Sequence[StretchRead]) -> list[Finding]:
    told: dict[str, Counter[Unread]] = {}
    unsaid: Counter[str] = Counter()
    for part in parts:
        told.setdefault(part.file, Counter()).update(part.converted.told)
        unsaid[part.file] += part.converted.currency_unsaid
    found = []
    for file, counts in told.items():
        for code in dict.fromkeys(what.code for what in counts):
            same = {what.text: count for what, count in counts.items() if what.code == code}
            shown = ", ".join(repr(text) for text in list(same)[:SHOWN]) + (" …" if len(same) > SHOWN else "")
            found.append(finding(code, where=file, saw=f"{shown} for a price, {_times(sum(same.values()))}"))
    for file, count in unsaid.items():
        if count:
            saw = f"{count} prices do not say their currency"
            found.append(finding("price_currency_not_said", where=file, saw=saw))
    return found


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"


def _some_rows(block: Block, sized: Collection[int]) -> Block:
    """Rows from all over a block, with their sizes only."""
    rows = slice(None, None, max(1, len(block) // SAMPLED))
    none = Coded(np.zeros(0, dtype=np.int32), [])
    taken = (
        coded([c.cells[code] for code in c.codes[rows]]) if at in sized else none for at, c in enumerate(block.columns)
    )
    return Block(block.lines[rows], tuple(taken))
