"""The story of a restoration, gathered from its book: as found, agreed, measured, tried, decided, done, given back."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from orderbook.answers.answer import asked_barrel
from orderbook.answers.means import Quantity, means_of
from orderbook.barrel.comparing import Compared, compare
from orderbook.barrel.modelling import model_of
from orderbook.barrel.springs_seen import SpringSeen
from orderbook.cautions import cautions_for
from orderbook.errors import Finding, OrderbookError
from orderbook.mechanics.materials import Material, material
from orderbook.records.accounts import Account, account
from orderbook.records.books import Books
from orderbook.records.index import index
from orderbook.records.tables import (
    BarrelRow,
    DrawerSpring,
    LedgerLine,
    Need,
    OrderLine,
    ReadingRow,
    RecordNote,
    Restoration,
    Trial,
    Work,
)
from orderbook.records.verdicts import last_trial, side_of


@dataclass(frozen=True, slots=True)
class SpringTried:
    """One fitting: the spring's size as far as it is known, the trial, and what became of the spring.

    `drive` and `drive_u` are the least pull over the run, in per cent of the most this barrel can give; `turns` what it
    delivers; nothing where the readings do not tell.
    """

    name: str
    called: str
    width_mm: float | None
    strength_mm: float | None
    length_mm: float | None
    trial: Trial
    became: str
    drive: float | None = None
    drive_u: float | None = None
    turns: float | None = None

    @property
    def kept(self) -> bool:
        """Whether it ran well and is in the barrel still."""
        return side_of(self.trial.verdict) == "kept" and self.became != "tried again"


@dataclass(frozen=True, slots=True)
class BarrelStory:
    """One barrel: its readings with ±, and the springs tried in it, in the order they were tried."""

    barrel: BarrelRow
    quantities: tuple[Quantity, ...]
    readings: tuple[ReadingRow, ...]
    tried: tuple[SpringTried, ...]
    steel: Material

    def mean(self, what: str) -> float | None:
        """Return the mean of a quantity; nothing where it was not read."""
        return next((q.measured.value for q in self.quantities if q.what == what), None)


@dataclass(frozen=True, slots=True)
class PartStory:
    """One part: what was decided about it, what was done, bought and said."""

    need: Need
    work: tuple[Work, ...]
    orders: tuple[OrderLine, ...]
    notes: tuple[RecordNote, ...]


@dataclass(frozen=True, slots=True)
class Story:
    """Everything the restoration record tells."""

    restoration: Restoration
    who: str
    workshop: str
    barrels: tuple[BarrelStory, ...]
    parts: tuple[PartStory, ...]
    notes: tuple[RecordNote, ...]
    orders: tuple[OrderLine, ...]
    drawer: tuple[DrawerSpring, ...]
    work: tuple[Work, ...]
    ledger: tuple[LedgerLine, ...]
    cautions: tuple[str, ...]
    account: Account
    suppliers: tuple[str, ...]
    findings: tuple[Finding, ...]

    def said(self, *headings: str) -> tuple[RecordNote, ...]:
        """Return the notes under some headings, the older first; those about a part too."""
        return tuple(note for note in self.notes if note.heading in headings)

    def part_of(self, need: str) -> str:
        """Return the part a need is about; nothing for labour that belongs to none."""
        return next((p.need.part for p in self.parts if p.need.need == need), "")


def story(books: Books, restoration: str, *, on: date) -> Story:
    """Gather the story of a restoration.

    Raises: OrderbookError(not_in_the_book).
    """
    piece, found = books.restoration(restoration), index(books)
    findings: list[Finding] = []
    barrels = tuple(_barrel(books, b, findings) for b in books.barrels if b.restoration == restoration)
    needs, orders = tuple(found.needs_of[restoration]), tuple(found.orders_of[restoration])
    work = tuple(sorted(found.work_of[restoration], key=_day_of))
    notes = tuple(sorted(found.notes_of[restoration], key=_day_of))
    return Story(
        restoration=piece,
        who=books.setting("your name"),
        workshop=books.setting("workshop"),
        barrels=barrels,
        parts=tuple(
            PartStory(
                need,
                tuple(w for w in work if w.need == need.need),
                tuple(o for o in orders if o.need == need.need),
                tuple(n for n in notes if n.need == need.need),
            )
            for need in needs
        ),
        notes=notes,
        orders=orders,
        drawer=tuple(_drawer(books, restoration, barrels, orders)),
        work=work,
        ledger=tuple(found.ledger_of[restoration]),
        cautions=_cautions(needs, orders, (w.done for w in work), bool(barrels)),
        account=account(books, restoration, on=on),
        suppliers=tuple(
            dict.fromkeys(
                name for name in (*(s.supplier for s in books.suppliers), *(o.supplier for o in orders)) if name
            )
        ),
        findings=tuple(findings),
    )


def _day_of(row: Work | RecordNote) -> date:
    return row.date or date.min


def _drawer(
    books: Books, restoration: str, barrels: Iterable[BarrelStory], orders: Iterable[OrderLine]
) -> Iterator[DrawerSpring]:
    """Return the springs of the drawer that were tried in the piece, came with its orders or moved its cost."""
    tried = {t.name for b in barrels for t in b.tried}
    lines = {o.order for o in orders}
    moved = {row.drawer for row in index(books).ledger_of[restoration] if row.drawer}
    for spring in books.drawer:
        if spring.drawer in tried or spring.drawer in moved or spring.order in lines:
            yield spring


def _barrel(books: Books, barrel: BarrelRow, findings: list[Finding]) -> BarrelStory:
    means = means_of(books, barrel.barrel)
    findings += [found for found in means.findings if found not in findings]
    trials = sorted(
        (t for t in books.trials if t.barrel == barrel.barrel), key=lambda t: (t.date or date.min, t.row.place.row)
    )
    tried = tuple(_tried(books, trial) for trial in trials)
    return BarrelStory(
        barrel,
        means.quantities,
        tuple(r for r in books.readings if r.barrel == barrel.barrel),
        tried,
        _steel_of(books, barrel.barrel),
    )


def _steel_of(books: Books, barrel: str) -> Material:
    """Return the steel that a sizing takes for this barrel: of its material, stiffer where the strip is wide."""
    try:
        return model_of(asked_barrel(books, barrel)).material
    except OrderbookError:
        return material("carbon")


def _tried(books: Books, trial: Trial) -> SpringTried:
    found = index(books)
    spring: OrderLine | DrawerSpring | None = found.orders.get(trial.order) or found.drawer.get(trial.order)
    if spring is None:
        return SpringTried(trial.order, "", None, None, None, trial, "")
    called = spring.label if isinstance(spring, DrawerSpring) else f"{spring.supplier} {spring.item}".strip()
    cut = trial.length_fitted_mm or (spring.trim_to_mm if isinstance(spring, OrderLine) else None)
    width, strength, length = (
        None if s is None else float(s) for s in (spring.width_mm, spring.strength_mm, cut or spring.length_mm)
    )
    last = last_trial(books, trial.order)
    became = spring.state if last is trial else "tried again"
    reckoned = _reckoned(books, trial.barrel, width, strength, length)
    drive = (reckoned.drive_index, reckoned.drive_index_u, reckoned.turns_delivered) if reckoned else (None, None, None)
    return SpringTried(trial.order, called, width, strength, length, trial, became, *drive)


def _reckoned(
    books: Books, barrel: str, width: float | None, strength: float | None, length: float | None
) -> Compared | None:
    """Return what a spring gives in its barrel; nothing where the readings do not tell."""
    if strength is None:
        return None
    try:
        seen = SpringSeen(width_mm=width, strength_mm=strength, length_mm=length)
        (found,) = compare(asked_barrel(books, barrel), [seen]).springs
    except (OrderbookError, ValueError):
        return None
    return found if found.drive_index >= 0 else None


def _cautions(
    needs: Iterable[Need], orders: Iterable[OrderLine], done: Iterable[str], barrels: bool
) -> tuple[str, ...]:
    words = ["mainspring"] if barrels else []
    words += [f"{n.part} {n.evidence} {n.decision} {n.reason} {n.note}" for n in needs]
    words += [f"{o.item} {o.note}" for o in orders] + list(done)
    return tuple(map(str, cautions_for("\n".join(words))))
