"""The story of a restoration, gathered from its book: what was measured, tried, decided, done and given as caution."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from orderbook.cautions import cautions_for
from orderbook.errors import Finding, OrderbookError
from orderbook.measures import Measured, from_repeats, half_width_mm, length_mm, number
from orderbook.measures.readings import CALIPER_MM
from orderbook.records.accounts import Account, account
from orderbook.records.books import Books
from orderbook.records.index import index
from orderbook.records.rows import Row
from orderbook.records.tables import Barrel, DrawerSpring, Need, OrderLine, Reading, Restoration, Trial
from orderbook.records.verdicts import last_trial

COUNTS = ("turns", "clicks", "g", "°", "")


@dataclass(frozen=True, slots=True)
class Quantity:
    """One measured quantity of a barrel: mean and standard uncertainty in mm, or in the unit of a count."""

    what: str
    measured: Measured
    unit: str
    times: int


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

    barrel: Barrel
    quantities: tuple[Quantity, ...]
    tried: tuple[SpringTried, ...]

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


def _barrel(books: Books, barrel: Barrel, findings: list[Finding]) -> BarrelStory:
    readings = [r for r in books.readings if r.barrel == barrel.barrel and r.what]
    quantities = []
    for what in dict.fromkeys(r.what for r in readings):
        quantities += _quantity(books, what, [r for r in readings if r.what == what], findings)
    trials = sorted(
        (t for t in books.trials if t.barrel == barrel.barrel), key=lambda t: (t.date or date.min, t.row.place.row)
    )
    return BarrelStory(barrel, tuple(quantities), tuple(_tried(books, trial) for trial in trials))


def _quantity(books: Books, what: str, readings: list[Reading], findings: list[Finding]) -> list[Quantity]:
    """Return mean and ± of the repeats of one quantity; a reading that cannot be read is a finding."""
    values, half_widths, is_count = [], [], readings[0].unit in COUNTS and bool(readings[0].unit)
    for r in readings:
        where = r.row.place.of("value")
        try:
            value = number(r.value, where=where) if is_count else length_mm(r.value, where=where, unit=r.unit or "mm")
        except OrderbookError as problem:
            findings.append(problem.finding)
            continue
        values.append(value)
        half_widths.append(_half_width(books, r.instrument, is_count, findings))
    if not values:
        return []
    times = f"{len(values)} readings" if len(values) > 1 else "1 reading"
    source = f"{times}, {readings[0].instrument or 'caliper ± 0.03 mm assumed'}"
    measured = from_repeats(values, half_width=max(half_widths), source=source)
    return [Quantity(what, measured, readings[0].unit if is_count else "mm", len(values))]


def _half_width(books: Books, instrument: str, is_count: bool, findings: list[Finding]) -> float:
    for row in books.tables.get("Instruments", ()):
        if (
            str(row.get("instrument") or "").casefold() == instrument.casefold()
            and row.get("half_width_mm") is not None
        ):
            try:
                return _limit(row)
            except OrderbookError as problem:
                if problem.finding not in findings:
                    findings.append(problem.finding)
    return 0.0 if is_count else CALIPER_MM


def _limit(row: Row) -> float:
    said = row.get("half_width_mm")
    return half_width_mm(float(said) if isinstance(said, Decimal) else said, where=row.place.of("half_width_mm"))


SAID = {"turns_used": "used", "material": "material"}  # column of Barrels → reading of the same meaning


def steel_of(told: BarrelStory) -> dict[str, float]:
    """Return flow stress and modulus that a sizing takes for this barrel: of its material, stiffer where it is wide."""
    from orderbook.barrel.barrel import barrel_from_texts
    from orderbook.barrel.modelling import model_of
    from orderbook.mechanics.materials import material

    texts = {what: [repr(told.mean(what))] for what in ("bore", "arbor", "depth") if told.mean(what) is not None}
    texts |= {word: [str(said)] for key, word in SAID.items() if (said := told.barrel.row.get(key)) not in (None, "")}
    try:
        steel = model_of(barrel_from_texts(texts)[0]).material
    except OrderbookError:
        steel = material("carbon")
    return {"flow_stress_mpa": steel.flow_stress_mpa, "modulus_mpa": steel.modulus_mpa}


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
