"""The restoration record: one page in a file of its own, to read, print and keep with the piece."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from orderbook.answers.means import Quantity
from orderbook.answers.record_data import BarrelStory, SpringTried, Story
from orderbook.errors import error
from orderbook.records.accounts import Account, Sums
from orderbook.records.tables import Need, OrderLine
from orderbook.records.verdicts import side_of
from orderbook.reports.pages import filled
from orderbook.reports.tables import plus_minus
from orderbook.reports.torque_picture import curve, torque_svg

HEADS = ("estimate", "committed", "paid", "credits", "labour", "balance")


def record_html(story: Story, *, on: date, costs: bool = True) -> str:
    """Write the record as one HTML file that needs nothing else: no script, no link, pictures inside.

    Parameters: costs, whether prices, sums and hours are shown (not on the owner's copy).
    """
    return filled(
        "record.html",
        r=story.restoration,
        head=_head(story),
        barrels=[_barrel(b) for b in story.barrels],
        needs=[_need(n) for n in story.needs],
        work=[
            {"day": _day(day), "part": part, "done": done, "hours": _plain(hours)}
            for day, part, done, hours in story.work
        ],
        orders=[_order(o) for o in story.orders if o.state not in ("planned", "cancelled")],
        costs=_costs(story.account) if costs else None,
        cautions=story.cautions,
        unread=[str(f) for f in story.findings],
        printed=_day(on),
    )


def record_pdf(html: str) -> bytes:
    """Set a record as a PDF.

    Raises: OrderbookError(pdf_needs_weasyprint) where the optional part is not installed.
    """
    try:
        from weasyprint import HTML
    except (ImportError, OSError) as problem:  # OSError: its system libraries are missing
        raise error("pdf_needs_weasyprint", where="PDF", saw=str(problem).splitlines()[0]) from problem
    page: bytes = HTML(string=html, base_url=None).write_pdf()
    return page


def _head(story: Story) -> list[tuple[str, str]]:
    r = story.restoration
    said = [
        ("Owner's reference", r.owner_reference),
        ("Came with", r.came_with),
        ("Condition on arrival", r.condition),
        ("Opened", _day(r.opened)),
        ("Closed", _day(r.closed)),
        ("State", r.state),
        ("Photographs", r.photographs),
        ("Note", r.note),
    ]
    return [(name, text) for name, text in said if text]


def _barrel(told: BarrelStory) -> dict[str, Any]:
    b = told.barrel
    kind = {"going": "going barrel", "fusee": "fusee"}.get(b.drive, b.drive)
    title = f"{b.train.capitalize()} train, {kind}, {b.barrel}" if b.train else b.barrel
    picture, words = _picture(told)
    return {
        "title": title,
        "readings": [_quantity(q) for q in told.quantities],
        "tried": [_tried(t) for t in told.tried],
        "picture": picture,
        "picture_words": words,
    }


def _quantity(q: Quantity) -> dict[str, str]:
    value, spread = plus_minus(q.measured.value, q.measured.u)
    return {"what": q.what, "value": value, "spread": spread or "exact", "unit": q.unit, "source": q.measured.source}


def _tried(t: SpringTried) -> dict[str, Any]:
    trial = t.trial
    stopped = trial.stopped_turns, trial.stopped_hours
    after = [f"{_plain(n)} {unit}" for n, unit in zip(stopped, ("turns", "hours"), strict=True) if n is not None]
    seen = [
        trial.seen,
        f"rod: {trial.rod}" if trial.rod else "",
        f"ran {_plain(trial.ran_days)} days" if trial.ran_days else "",
    ]
    return {
        "name": t.name,
        "called": t.called,
        "size": " × ".join(f"{s:g}" for s in (t.width_mm, t.strength_mm, t.length_mm) if s is not None),
        "day": _day(trial.date),
        "clicks": f"{_plain(trial.clicks)} clicks" if trial.clicks is not None else "",
        "verdict": trial.verdict + (f" after {' / '.join(after)}" if after else ""),
        "seen": "; ".join(filter(None, seen)),
        "became": t.became,
        "kept": side_of(trial.verdict) == "kept",
    }


def _picture(told: BarrelStory) -> tuple[str, str]:
    bore, arbor = told.mean("bore"), told.mean("arbor")
    if bore is None or arbor is None:
        return "", ""
    springs = {t.name: t for t in told.tried if t.width_mm and t.strength_mm and t.length_mm}
    drawn, steel = [], told.steel
    for t in springs.values():
        line = curve(
            bore,
            arbor,
            t.width_mm or 0,
            t.strength_mm or 0,
            t.length_mm or 0,
            flow_stress_mpa=steel.flow_stress_mpa,
            modulus_mpa=steel.modulus_mpa,
        )
        if line is not None:
            drawn.append((f"{t.name}: {t.strength_mm:g} mm, {t.trial.verdict}", *line))
    if not drawn:
        return "", ""
    most = [
        f"{name} reaches {float(torque[-1]):.0f} N·mm after {float(turns[-1]):.1f} turns"
        for name, turns, torque in drawn
    ]
    words = "Torque at the barrel against turns from run down, worked out without friction. " + "; ".join(most) + "."
    return torque_svg(drawn, label=words), words


def _need(n: Need) -> dict[str, str]:
    return {"part": n.part, "evidence": n.evidence, "decision": n.decision, "reason": n.reason, "state": n.state}


def _order(o: OrderLine) -> dict[str, str]:
    size = " × ".join(_plain(s) for s in (o.width_mm, o.strength_mm, o.length_mm) if s is not None)
    item = o.item + (f" ({size})" if size else "") + (f"; {o.wrong}" if o.wrong else "")
    return {
        "name": o.order, "supplier": o.supplier, "item": item, "ordered": _day(o.ordered_on),
        "received": _day(o.received_on), "state": o.state,
    }  # fmt: skip


def _costs(found: Account) -> dict[str, Any]:
    limits = [("agreed", found.agreed), ("not above", found.not_above)]
    said = [f"{name} {found.money(minor).text}" for name, minor in limits if minor is not None]
    return {
        "currency": found.currency,
        "heads": HEADS,
        "rows": [(name, *_cells(found, sums)) for name, sums in found.by_category.items()],
        "total": _cells(found, found.total),
        "limit": ("Estimate " + "; ".join(said) + ".") if said else "",
        "added": found.rows_added,
        "not_added": [str(f) for f in found.not_added],
    }


def _cells(found: Account, sums: Sums) -> list[str]:
    amounts = (sums.estimate, sums.committed, sums.paid, sums.credit, sums.labour, sums.balance)
    return [found.money(amount).text if amount else "–" for amount in amounts]


def _day(when: date | None) -> str:
    return f"{when.day} {when:%b %Y}" if when else ""


def _plain(value: Decimal | None) -> str:
    return "" if value is None else f"{value.normalize():f}"
