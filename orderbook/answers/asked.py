"""What a book asks of the choice: one barrel with what was read and tried in it, and the springs that can be had."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

import numpy as np
from numpy.typing import NDArray

from orderbook.answers.means import Means, means_of
from orderbook.barrel.barrel import Barrel
from orderbook.barrel.springs_seen import SpringSeen, Tried, verdict_from
from orderbook.barrel.verdicts import VERDICTS, verdict_in
from orderbook.catalogue import Catalogue
from orderbook.errors import Finding, OrderbookError, error, finding
from orderbook.measures import Measured
from orderbook.measures.money import minor_digits
from orderbook.records.books import Books, record_of
from orderbook.records.cells import shows_error
from orderbook.records.identifiers import tidy
from orderbook.records.index import index
from orderbook.records.rows import Row
from orderbook.records.tables import BarrelRow, DrawerSpring, OrderLine, Trial

READ = ("bore", "arbor", "depth", "barrel_outside", "chain_height")
FITTED = ("fitted width", "fitted strength", "fitted length")
MANY_REJECTS = 10  # rows of the list that are told of one by one


def barrel_of(books: Books, name: str) -> Barrel:
    """Return one barrel of a book, with everything read of it and every spring tried in it; its notes say the rest.

    Raises: OrderbookError(barrel_not_there), for readings that cannot be of one length, and of a cell that is no use.
    """
    wanted = tidy(name)
    row = index(books).barrels.get(wanted)
    if row is None:
        known = ", ".join(list(index(books).barrels)[:8]) or "none yet"
        raise error("barrel_not_there", where="⟨barrel⟩", saw=f"no {wanted}; there are: {known}")
    means = means_of(books, wanted)
    _all_readable(books, row)
    for said in means.findings:
        if said.severity == "error":
            raise OrderbookError(said)
    tried = tuple(one for trial in _in_turn(books, wanted) if (one := tried_in(books, row, trial)))
    piece = index(books).restorations.get(row.restoration)
    origin = _origin(books, row)
    found = _fitted(row, means, tried)
    return Barrel(
        bore=_measured(row, means, "bore"),
        arbor=_measured(row, means, "arbor"),
        depth=_measured(row, means, "depth"),
        barrel_outside=_measured(row, means, "barrel_outside"),
        chain_height=_measured(row, means, "chain_height"),
        turns=_float(row.turns_asked),
        used=_float(row.turns_used),
        hours=_float(row.run_hours),
        clearance=_float(row.clearance_mm),
        fill=_float(row.fill),
        drive=row.drive or None,
        train=row.train or None,
        stop_work=row.stop_work == "yes",
        movement=(piece.movement if piece else "") or None,
        end=row.end or None,
        ratchet_teeth=row.ratchet_teeth,
        set_up=_set_up(row),
        wheels=row.wheels or None,
        fusee=row.fusee or None,
        material=row.material or None,
        free=row.free_shape or None,
        rod=[piece for text in (row.rod_test, *_rods(books, wanted)) for piece in text.split(";") if piece.strip()],
        original=(found,) if found and origin == "original" else (),
        tried=tried,
        notes=(*means.findings, *_about_fitted(row, found, origin)),
    )


def _all_readable(books: Books, row: BarrelRow) -> None:
    """Raise for the first cell of the barrel or of its trials that cannot be read: nothing is left out unsaid."""
    found: list[Finding] = []
    record_of(BarrelRow, row.row, found)
    for trial in books.trials:
        if trial.barrel == row.barrel:
            record_of(Trial, trial.row, found)
    for name in READ:
        if shows_error(seen := row.row.get(f"{name}_mm")):
            raise error("cell_holds_error", where=row.row.place.of(f"{name}_mm"), saw=f"the cell shows {seen}")
    for said in found:
        raise OrderbookError(said)


def tried_in(books: Books, barrel: BarrelRow, trial: Trial) -> Tried | None:
    """Return a spring tried in a barrel with the sizes it had there; None where no verdict or no strength is known."""
    verdict = verdict_in(trial.verdict)
    found = index(books)
    spring: OrderLine | DrawerSpring | None = found.orders.get(trial.order) or found.drawer.get(trial.order)
    width, strength, length = sizes_of(spring) if spring else (trial.width_mm, trial.strength_mm, trial.length_mm)
    if verdict is None or not strength:
        return None
    length = trial.length_fitted_mm or length
    after_turns, after_hours = _after(trial)
    clicks, teeth = trial.clicks, barrel.ratchet_teeth
    sizes = " x ".join("?" if size is None else f"{float(size):g}" for size in (width, strength, length))
    return Tried(
        _float(width), float(strength), _float(length), verdict.word, after_turns, after_hours,
        f"{sizes}: {trial.verdict}", float(clicks) / teeth if clicks is not None and teeth else None, trial.order,
        gone=spring is not None and _is_gone(spring),
    )  # fmt: skip


def _is_gone(spring: OrderLine | DrawerSpring) -> bool:
    """Return whether a spring can no longer be fitted: sent back, or gone from the drawer."""
    return spring.state in ("returned", "cancelled", "gone")


def sizes_of(spring: OrderLine | DrawerSpring) -> tuple[Any, Any, Any]:
    """Return width, strength and the length that is fitted: as cut, where it is to be cut."""
    cut = spring.trim_to_mm if isinstance(spring, OrderLine) else None
    return spring.width_mm, spring.strength_mm, cut or spring.length_mm


def _after(trial: Trial) -> tuple[float | None, float | None]:
    """Return after how many turns or hours it stopped: by the columns, else by the words of the verdict."""
    if not VERDICTS[verdict_in(trial.verdict).word].takes_after:  # type: ignore[union-attr]
        return None, None
    if trial.stopped_turns is not None or trial.stopped_hours is not None:
        turns, hours = _float(trial.stopped_turns), _float(trial.stopped_hours)
        return (turns, None) if turns is not None else (None, hours)
    try:
        return verdict_from(trial.verdict, trial.row.place.of("verdict"))[1:]
    except OrderbookError:
        return None, None


def _in_turn(books: Books, barrel: str) -> list[Trial]:
    """Return the trials of a barrel by day, those of one day as they stand."""
    mine = (trial for trial in books.trials if trial.barrel == barrel)
    return sorted(mine, key=lambda trial: (trial.date or date.min, trial.row.place.row))


def _rods(books: Books, barrel: str) -> list[str]:
    return [trial.rod for trial in books.trials if trial.barrel == barrel and trial.rod]


def _measured(row: BarrelRow, means: Means, name: str) -> Measured | None:
    """Return a mean: of the readings, else as the sheet worked it out (a worksheet function gets no readings)."""
    read = means.of(name.replace("_", " "))
    if read is not None:
        return read
    value, half_width = getattr(row, f"{name}_mm"), getattr(row, f"{name}_pm_mm")
    if means.quantities or not value or value <= 0:
        return None
    return Measured(float(value), float(half_width or 0) / 2, "mean of the readings")


def _set_up(row: BarrelRow) -> Measured | None:
    """Return the set-up in turns: as given, else from the clicks counted at the let-down."""
    if row.set_up_turns is not None:
        return Measured(float(row.set_up_turns), 0.0, "as given")
    if row.set_up_clicks and row.ratchet_teeth:
        clicks = float(row.set_up_clicks)
        return Measured(clicks / row.ratchet_teeth, 0.0, f"{clicks:g} clicks of {row.ratchet_teeth} teeth")
    return None


def _fitted(row: BarrelRow, means: Means, tried: Sequence[Tried]) -> SpringSeen | None:
    """Return the spring found in the barrel; nothing for one that has a verdict: it speaks by that."""
    read = [means.of(what) for what in FITTED]
    sheet = (row.fitted_width_mm, row.fitted_strength_mm, row.fitted_length_mm)
    width, strength, length = (
        one.value if one else (_float(cell) if not means.quantities else None)
        for one, cell in zip(read, sheet, strict=True)
    )
    if not strength or any(abs(one.strength_mm - strength) < 0.01 * strength for one in tried):
        return None
    return SpringSeen(width or None, strength, length or None, f"{strength:g} mm")


def _origin(books: Books, row: BarrelRow) -> str:
    """Return whether the fitted spring is original, later or unknown: as Barrels says, else by what Needs found."""
    if row.fitted_origin:
        return str(row.fitted_origin)
    needs = [
        n for n in index(books).needs_of[row.restoration] if n.barrel == row.barrel and "spring" in n.part.casefold()
    ]
    evidence = {n.evidence for n in needs if n.evidence}
    return {"original": "original", "later replacement": "later"}.get(evidence.pop(), "") if len(evidence) == 1 else ""


def _about_fitted(row: BarrelRow, found: SpringSeen | None, origin: str) -> tuple[Finding, ...]:
    """Ask whether the fitted spring is original where nobody said: it tells nothing until then."""
    if found is None or origin:
        return ()
    saw = f"a spring of {found.text} was found in {row.barrel}"
    return (finding("fitted_origin_not_said", where=row.row.place.of("fitted_origin"), saw=saw),)


def springs_of(books: Books) -> tuple[Catalogue, tuple[Finding, ...]]:
    """Return the springs of the table Catalogue, those marked "leave out" apart, and which rows could not be used."""
    catalogue, rejects = books.derived("Catalogue", catalogue_from)
    return catalogue, tuple(
        finding("book_row_not_used", where="Catalogue", saw=line) for line in rejects[:MANY_REJECTS]
    )


def catalogue_from(rows: Sequence[Row]) -> tuple[Catalogue, tuple[str, ...]]:
    """Return the springs of rows of Catalogue, and a line for each that could not be used; a price is a pack's."""
    keys = ("supplier", "item", "width_mm", "strength_mm", "length_mm", "end", "material", "price", "currency", "pack",
            "stock", "file", "line", "leave_out")  # fmt: skip
    listed = [row.values for row in rows if row.values.get("item") not in (None, "") and not row.place.below]
    columns = {key: [values.get(key) for values in listed] for key in keys}
    count = len(listed)
    sizes = {key: _numbers(columns[key]) for key in ("width_mm", "strength_mm", "length_mm")}
    whole = _without_errors(columns, count)
    fine = np.all([np.isfinite(values) & (values > 0) for values in sizes.values()], axis=0) & whole
    left_out = np.array([_text(value).casefold() == "yes" for value in columns["leave_out"]], dtype=bool)
    rejects = tuple(
        f"{_text(columns['item'][n])}: {'a size is not a number' if whole[n] else 'a cell shows an error'}"
        for n in np.flatnonzero(~fine & ~left_out)
    )
    texts = {key: [_text(v) for v in columns[key]] for key in ("supplier", "item", "end", "material", "file")}
    currencies = [_text(v).upper() if ok else "" for v, ok in zip(columns["currency"], whole, strict=True)]
    springs = Catalogue.of(
        **texts,
        currency=currencies,
        **{key: np.where(fine, values, 1.0) for key, values in sizes.items()},
        price_minor=_minor(columns["price"], currencies),
        pack=_counts(columns["pack"], 1),
        stock=_counts(columns["stock"], -1, least=0),
        line=_counts(columns["line"], 0),
    )
    return springs.take(fine & ~left_out), rejects


def _without_errors(columns: Mapping[str, Sequence[Any]], count: int) -> NDArray[np.bool_]:
    """Mark the rows in which no cell shows an error of the worksheet."""
    without = np.ones(count, dtype=bool)
    for values in columns.values():
        without[[n for n, value in enumerate(values) if shows_error(value)]] = False
    return without


def _numbers(values: Sequence[Any]) -> NDArray[np.float64]:
    return np.array([v if type(v) is float or type(v) is int else _number(v) for v in values], dtype=float)


def _number(value: Any) -> float:
    """Return an exact number as a float; what is no number is nan: a text is not guessed at."""
    return float(value) if isinstance(value, (Decimal, np.number)) else float("nan")


def _text(value: Any) -> str:
    if type(value) is str:
        return value.strip()
    return "" if value is None else str(int(value)) if isinstance(value, float) and value.is_integer() else str(value)


def _counts(values: Sequence[Any], missing: int, least: int = 1) -> NDArray[np.int64]:
    numbers = _numbers(values)
    return np.where(numbers >= least, np.nan_to_num(numbers), missing).astype(np.int64)


def _minor(values: Sequence[Any], currencies: Sequence[str]) -> NDArray[np.int64]:
    """Prices in whole minor units, -1 where there is none; a cell holds a float, its nearest minor unit is meant."""
    scale = {c: 10 ** minor_digits(c, where="Catalogue, currency") if c else 100 for c in set(currencies)}
    prices = _numbers(values) * np.array([scale[c] for c in currencies], dtype=float)
    return np.where(np.isfinite(prices) & (prices >= 0), np.rint(np.nan_to_num(prices)), -1).astype(np.int64)


def _float(value: Any) -> float | None:
    return None if value is None else float(value)
