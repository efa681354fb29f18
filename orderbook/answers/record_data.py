"""The story of a restoration, gathered from its book: what was measured, tried, decided, done and given as caution."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from orderbook.answers.answer import asked_barrel
from orderbook.answers.means import Quantity, means_of
from orderbook.barrel.modelling import model_of
from orderbook.cautions import cautions_for
from orderbook.errors import Finding, OrderbookError
from orderbook.mechanics.materials import Material, material
from orderbook.records.accounts import Account, account
from orderbook.records.books import Books
from orderbook.records.index import index
from orderbook.records.tables import BarrelRow, DrawerSpring, Need, OrderLine, Restoration, Trial
from orderbook.records.verdicts import last_trial


@dataclass(frozen=True, slots=True)
class SpringTried:
    """One fitting: the spring's size as far as it is known, the trial, and what became of the spring."""

    name: str
    called: str
    width_mm: float | None
    strength_mm: float | None
    length_mm: float | None
    trial: Trial
    became: str


@dataclass(frozen=True, slots=True)
class BarrelStory:
    """One barrel: its readings with ±, and the springs tried in it, in the order they were tried."""

    barrel: BarrelRow
    quantities: tuple[Quantity, ...]
    tried: tuple[SpringTried, ...]
    steel: Material

    def mean(self, what: str) -> float | None:
        """Return the mean of a quantity; nothing where it was not read."""
        return next((q.measured.value for q in self.quantities if q.what == what), None)


@dataclass(frozen=True, slots=True)
class Story:
    """Everything the restoration record tells."""

    restoration: Restoration
    barrels: tuple[BarrelStory, ...]
    needs: tuple[Need, ...]
    orders: tuple[OrderLine, ...]
    work: tuple[tuple[date | None, str, str, Decimal | None], ...]  # day, part, what was done, hours
    cautions: tuple[str, ...]
    account: Account
    findings: tuple[Finding, ...]


def story(books: Books, restoration: str, *, on: date) -> Story:
    """Gather the story of a restoration.

    Raises: OrderbookError(not_in_the_book).
    """
    piece, found = books.restoration(restoration), index(books)
    findings: list[Finding] = []
    barrels = tuple(_barrel(books, b, findings) for b in books.barrels if b.restoration == restoration)
    needs, orders = tuple(found.needs_of[restoration]), tuple(found.orders_of[restoration])
    work = sorted(found.work_of[restoration], key=lambda w: w.date or date.min)
    return Story(
        restoration=piece,
        barrels=barrels,
        needs=needs,
        orders=orders,
        work=tuple((w.date, found.needs[w.need].part, w.done, w.hours) for w in work),
        cautions=_cautions(needs, orders, (w.done for w in work), bool(barrels)),
        account=account(books, restoration, on=on),
        findings=tuple(findings),
    )


def _barrel(books: Books, barrel: BarrelRow, findings: list[Finding]) -> BarrelStory:
    means = means_of(books, barrel.barrel)
    findings += [found for found in means.findings if found not in findings]
    trials = sorted(
        (t for t in books.trials if t.barrel == barrel.barrel), key=lambda t: (t.date or date.min, t.row.place.row)
    )
    tried = tuple(_tried(books, trial) for trial in trials)
    return BarrelStory(barrel, means.quantities, tried, _steel_of(books, barrel.barrel))


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
    width, strength, length = (
        None if s is None else float(s) for s in (spring.width_mm, spring.strength_mm, spring.length_mm)
    )
    last = last_trial(books, trial.order)
    return SpringTried(
        trial.order, called, width, strength, length, trial, spring.state if last is trial else "tried again"
    )


def _cautions(
    needs: Iterable[Need], orders: Iterable[OrderLine], done: Iterable[str], barrels: bool
) -> tuple[str, ...]:
    words = ["mainspring"] if barrels else []
    words += [f"{n.part} {n.evidence} {n.decision} {n.reason} {n.note}" for n in needs]
    words += [f"{o.item} {o.note}" for o in orders] + list(done)
    return tuple(map(str, cautions_for("\n".join(words))))
