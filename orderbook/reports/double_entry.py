"""A restoration's costs as a plain-text double-entry file (the open beancount format)."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from datetime import date
from typing import NamedTuple

from orderbook.errors import Finding
from orderbook.measures.money import Money
from orderbook.records.accounts import ledger_value, of_no_piece, work_value
from orderbook.records.books import Books
from orderbook.records.conversion import dated_rates, in_minor
from orderbook.records.index import index
from orderbook.records.moves import is_move, line_of
from orderbook.records.sheet_names import no_such_piece
from orderbook.records.tables import LedgerLine, Work
from orderbook.records.totals import Span

BANK, SUPPLIERS, BENCH, AGREED = "Assets:Bank", "Liabilities:Suppliers", "Income:Bench", "Equity:Agreed"
DRAWER, STOCK = "Assets:Drawer", "Equity:Own-Stock"


class Posting(NamedTuple):
    """One side of an entry: an account and an amount, with what it was worth in the book's currency."""

    account: str
    money: Money
    worth: Money


class Entry(NamedTuple):
    """One dated entry of two postings."""

    day: date
    flag: str
    who: str
    order: str
    postings: tuple[Posting, Posting]


def double_entry(books: Books, restoration: str = "", *, on: date, span: Span | None = None) -> str:
    """Write ledger and work of one restoration, or of all, as a double-entry file.

    Parameters: on, the day of rows that have none; span, the days a row must lie in.

    A cost paid goes from the bank to `Expenses:R-007:Spring`, one committed comes from what is owed to suppliers
    (flagged `!`), a credit goes the other way, labour done is income of the bench, an estimate stays within equity.
    What a spring of the drawer cost goes from its piece to `Assets:Drawer` and from there to the piece that uses it.
    Every amount stands in the book's currency; the other side keeps the currency it was charged in.
    Rows that cannot be added are comments that say why.
    """
    entries, left_out = _entries(books, restoration, on, span or Span())
    first = min([e.day for e in entries], default=on)
    lines = [
        f'option "title" "{_quoted(_title(books, restoration))}"',
        f'option "operating_currency" "{books.currency}"',
        'option "inferred_tolerance_default" "*:0.000001"',  # a total price is divided and multiplied again
        "",
        *(f"; not added: {f}" for f in left_out),
        *(f"{first} open {name}" for name in sorted({p.account for e in entries for p in e.postings})),
        "",
        *_prices(books),
    ]  # fmt: skip
    return "\n".join([*lines, *_written(entries)]) + "\n"


def _prices(books: Books) -> Iterator[str]:
    for r in books.rates:
        if r.date and r.currency and r.rate and r.rate > 0:
            yield f"{r.date} price {r.currency} {r.rate:f} {books.currency}"


def _entries(books: Books, restoration: str, on: date, span: Span) -> tuple[list[Entry], list[Finding]]:
    entries: list[Entry] = []
    left_out, rates, needs = list(of_no_piece(books)), dated_rates(books), index(books).needs
    names = _account_names(books)
    for line in books.ledger:
        if restoration in ("", line.restoration) and span.holds(line.date) and not no_such_piece(books, line):
            value = ledger_value(line, books.currency, rates)
            if isinstance(value, Finding):
                left_out.append(value)
            else:
                other = _other_side(books, line)
                entries.append(_of_ledger(line, names[line.restoration], other, Money(value, books.currency), on))
    for work in books.work:
        need = needs.get(work.need)
        piece = need.restoration if need else work.need
        if restoration in ("", piece) and span.holds(work.date) and not no_such_piece(books, work):
            value = work_value(work, books.currency)
            if isinstance(value, Finding):
                left_out.append(value)
            else:
                entries.append(_of_work(work, names[piece], Money(value, books.currency), on))
    return sorted(entries, key=lambda e: e.day), left_out


def _account_names(books: Books) -> dict[str, str]:
    """Return the part of an account's name of each piece; two pieces never get the same."""
    names: dict[str, str] = {}
    for piece in books.restorations:
        part, number = _part(piece.restoration), 2
        while part in names.values():
            part, number = f"{_part(piece.restoration)}-X{number}", number + 1
        names.setdefault(piece.restoration, part)
    return names


def _other_side(books: Books, line: LedgerLine) -> str:
    """Return where the money of a row that is paid or credited goes from or to."""
    if not is_move(line):
        return BANK
    return STOCK if line_of(books, line) is None else DRAWER


def _of_ledger(line: LedgerLine, piece: str, other: str, worth: Money, on: date) -> Entry:
    name = f"{piece}:{_part(line.category)}"
    charged = _charged(line, worth)
    if line.kind == "estimate":
        sides = Posting(f"Equity:Estimate:{name}", worth, worth), Posting(AGREED, -charged, -worth)
    elif line.kind == "credit":
        sides = Posting(f"Expenses:{name}", -worth, -worth), Posting(other, charged, worth)
    else:
        source = other if line.kind == "paid" else SUPPLIERS
        sides = Posting(f"Expenses:{name}", worth, worth), Posting(source, -charged, -worth)
    flag = "!" if line.kind == "committed" else "*"
    return Entry(line.date or on, flag, line.note or f"{line.category}, {line.kind}", line.order, sides)


def _charged(line: LedgerLine, worth: Money) -> Money:
    """Return the amount in the currency it was charged in; what it was worth, where one of the two is nothing."""
    if line.currency in ("", worth.currency) or line.amount is None:
        return worth
    charged = in_minor(line.amount, line.currency)
    return charged if charged.minor and worth.minor else worth


def _of_work(work: Work, piece: str, worth: Money, on: date) -> Entry:
    sides = Posting(f"Expenses:{piece}:Labour", worth, worth), Posting(BENCH, -worth, -worth)
    return Entry(work.date or on, "*", work.done or work.need, "", sides)


def _part(text: str) -> str:
    """Turn a text into a part of an account's name: letters, figures, hyphens, beginning with a capital or figure.

    >>> _part("outside work"), _part("R-007")
    ('Outside-Work', 'R-007')
    """
    words = re.sub(r"[^A-Za-z0-9]+", "-", text).strip("-") or "X"
    return "-".join(word[:1].upper() + word[1:] for word in words.split("-"))


def _title(books: Books, restoration: str) -> str:
    return f"{restoration} {books.restoration(restoration).piece}".strip() if restoration else "All restorations"


def _quoted(text: str) -> str:
    return " ".join(text.replace("\\", "/").replace('"', "'").split())


def _written(entries: Iterable[Entry]) -> Iterator[str]:
    for entry in entries:
        tag = f" ^{entry.order}" if re.fullmatch(r"[A-Za-z0-9_/.-]+", entry.order) else ""
        yield ""
        yield f'{entry.day} {entry.flag} "{_quoted(entry.who)}"{tag}'
        for posting in entry.postings:
            money, worth = posting.money, posting.worth
            price = "" if money.currency == worth.currency else f" @@ {Money(abs(worth.minor), worth.currency)}"
            yield f"  {posting.account}  {money}{price}"
