"""The graded order and the ranked list as a person reads them: tables first, then what they rest on."""

from __future__ import annotations

from collections.abc import Sequence
from math import isnan
from typing import Any

from orderbook.cautions import caution
from orderbook.choosing.chain import Stage
from orderbook.choosing.grading import Grading
from orderbook.choosing.ranking import Considered, Ranking, size_text
from orderbook.choosing.table import charged, outlay
from orderbook.errors import Finding
from orderbook.measures import plainly
from orderbook.reports.tables import WIDTH, TextColumn, money_text, plus_minus, table, wrapped

PARTS = {
    "price": "springs",
    "postage": "postage",
    "fitting": "fitting",
    "overpower": "overpower",
    "delay": "waiting for another order",
    "give_up": "giving up",
}
RUN_ASSUMED = "used_assumed"
MOST_UNFIT = 5  # nearest springs that do not go in that are shown; --json has them all


def grading_text(grading: Grading) -> str:
    """The answer of `grade` in words and tables."""
    c = grading.considered
    stops = tuple(f for f in grading.findings if f.severity == "error")
    blocks = [
        _run_assumed(grading.findings),
        _stages(grading) if grading.fittings else "",
        _findings(stops),
        wrapped(f"Next: {grading.next_action}"),
        _need(c),
        _chances(grading),
        _why_these(grading),
        _ways(grading),
        _assumed(c),
        _unfit(c, grading.fittings == ()),
        _findings([f for f in grading.findings if f.severity != "error" and f.code != RUN_ASSUMED]),
        _cautions(c, [stage.row for stage in grading.fittings]),
    ]
    return "\n\n".join(block for block in blocks if block)


def ranking_text(ranking: Ranking) -> str:
    """The answer of `rank` in words and tables."""
    c = ranking.considered
    of = f"{len(ranking.ranked)} of {ranking.counts['springs_that_go_in']} springs that go in"
    head = f"Ranked by the cost of the best plan that begins with each ({of}):"
    dominated = ranking.counts["springs_dominated"]
    told = f"{dominated} of them load more than another that drives no less and costs no more." if dominated else ""
    blocks = [
        _run_assumed(ranking.findings),
        f"{head}\n\n{_ranks(ranking)}" if ranking.ranked else "",
        told,
        _need(c),
        _assumed(c),
        _unfit(c, not ranking.ranked),
        _findings([f for f in ranking.findings if f.code != RUN_ASSUMED]),
        _cautions(c, [one.spring for one in ranking.ranked]),
    ]
    return "\n\n".join(block for block in blocks if block)


def _stages(grading: Grading) -> str:
    c = grading.considered
    columns = [
        TextColumn("", "right"),
        TextColumn("spring"),
        TextColumn("b × e × L, mm"),
        *NUMBERS,
        TextColumn("step\n%", "right"),
        TextColumn("chance\n%", "right"),
        TextColumn(f"price\n{c.offer.currency}", "right"),
    ]
    drive = c.offer.fits.drive_index
    rows, before = [], None
    for number, stage in enumerate(grading.fittings, 1):
        step = "" if before is None else f"{100 * (drive[stage.row] / drive[before] - 1):+.0f}"
        rows.append([str(number), *_spring(c, stage.row), step, f"{100 * stage.fits:.0f}", _price(c, stage.row)])
        before = stage.row
    told = grading.stage_dicts()
    whys = [wrapped(f"{n}: {one['why']}; {_turns(c, s.row)}.") for n, (one, s) in _numbered(told, grading)]
    return "\n\n".join(["Try in this order, weakest first:", table(columns, rows, width=WIDTH), "\n".join(whys)])


def _numbered(told: list[dict[str, Any]], grading: Grading) -> list[tuple[int, tuple[dict[str, Any], Stage]]]:
    return list(enumerate(zip(told, grading.fittings, strict=True), 1))


def _ranks(ranking: Ranking) -> str:
    c = ranking.considered
    columns = [
        TextColumn("", "right"),
        TextColumn("spring"),
        TextColumn("b × e × L, mm"),
        *NUMBERS,
        TextColumn("turns", "right"),
        TextColumn("fill", "right"),
        TextColumn(f"price\n{c.offer.currency}", "right"),
        TextColumn(f"plan\n{c.offer.currency or 'medians'}", "right"),
    ]
    rows = []
    for one in ranking.ranked:
        turns, fill = c.offer.fits.delivered_turns[one.spring], c.offer.fits.fill[one.spring]
        cells = [f"{turns:.1f}", f"{fill:.2f}", _price(c, one.spring), c.money(one.cost)]
        rows.append([str(one.rank), *_spring(c, one.spring), *cells])
    whys = "\n".join(wrapped(f"{one.rank}: {one.why}.") for one in ranking.ranked[:3])
    return f"{table(columns, rows, width=WIDTH)}\n\n{whys}"


NUMBERS = (TextColumn("cut to\nmm", "right"), TextColumn("drive\n%", "right"), TextColumn("load\n%", "right"))


def _spring(c: Considered, spring: int) -> list[str]:
    fits, row = c.offer.fits, c.offer.row(spring)
    trim = fits.trim_to_mm[spring]
    return [
        f"{row['supplier']} {row['item']}",
        size_text(row),
        "" if isnan(trim) else f"{trim:.0f}",
        _whole(fits.drive_index[spring], fits.drive_index_u[spring]),
        _whole(fits.load_index[spring], fits.load_index_u[spring]),
    ]


def _turns(c: Considered, spring: int) -> str:
    fits = c.offer.fits
    return f"delivers {fits.delivered_turns[spring]:.1f} turns, fill {fits.fill[spring]:.2f}"


def _whole(value: float, u: float) -> str:
    number, spread = plus_minus(float(value), float(u), at_most=0)
    return f"{number} ± {spread}"


def _price(c: Considered, spring: int) -> str:
    if c.offer.is_owned(spring):
        return "owned"
    price = c.offer.price[spring]
    return price.text if price is not None else "assumed"


def _need(c: Considered) -> str:
    low, high = c.weighed.belief.interval_index()
    ref = c.reference
    return wrapped(
        f"The need is probably about {c.weighed.belief.median_index:.0f} % (nine times in ten "
        f"{low:.0f} to {high:.0f}). 100 % is the drive of the strongest useful spring of this barrel, "
        f"{ref.width_mm:.2f} × {ref.strength_mm:.3f} × {ref.length_mm:.0f} mm: {plainly(ref.drive_nmm)} N·mm ± 30 %. "
        "A fuller barrel can do a little more."
    )


def _chances(grading: Grading) -> str:
    if not grading.fittings:
        return ""
    c, seen = grading.considered, grading.seen
    parts = ", ".join(f"{PARTS[n]} {c.money(v)}" for n, v in grading.account.parts().items() if round(v, 2) > 0)
    told = (
        f"One of them is just strong enough with chance {100 * grading.chance_of_a_fit:.0f} %; the one kept loads "
        f"{grading.expected_overpower_percent:.0f} % above the need on average. "
        f"{_to_pay(grading)}As a score (weights for your time, waiting and overpower; not a bill): "
        f"{_money(c, grading.account.cost)} on average: {parts}."
    )
    if seen is not None:
        told += f" Allowing for springs that are not quite what the list says: {_money(c, seen.cost)}."
    return wrapped(told)


def _to_pay(grading: Grading) -> str:
    """Say what the order itself costs, apart from what time and waiting weigh; nothing where no list has prices."""
    c = grading.considered
    rows = tuple(stage.row for stage in grading.fittings)
    bought = [row for row in rows if not c.offer.is_owned(row)]
    if not bought or not c.offer.currency:
        return ""
    postage = charged(c.choice, rows)
    goods = outlay(c.choice, rows) - postage
    about = "" if all(c.offer.price[row] is not None for row in bought) else "about "
    return f"You would pay {about}{_money(c, goods)} and postage {c.money(postage)} for this order. "


def _why_these(grading: Grading) -> str:
    """Each spring against the best order without it, how far the weights may move, what a rod test would save."""
    c, told = grading.considered, []
    for one in grading.alternatives:
        items = ", ".join(str(c.offer.row(i)["item"]) for i in one.order)
        then = f"best without it is {items}" if items else "without it nothing is worth ordering"
        told.append(f"{c.offer.row(one.row)['item']}: {then}, {_money(c, one.costs_more)} dearer.")
    if told:
        told.insert(0, "Why these:")
    if grading.sensitivity:
        told.append(_sensitivity(grading))
    if (rod := grading.rod_test) is not None:
        told.append(
            f"A rod test before ordering would save about {_money(c, rod.saves)} on average and take "
            f"{_money(c, rod.takes)} of bench time."
        )
    return wrapped(" ".join(told))


SENSITIVE = {"overpower": "the weight of overpower", "spread": "the spread of the need", "trial": "the bench time"}


def _sensitivity(grading: Grading) -> str:
    parts = []
    for name, stays in grading.sensitivity:
        low = "0.33" if stays.down_to is None else f"{stays.down_to:.2g}"
        high = "3" if stays.up_to is None else f"{stays.up_to:.2g}"
        parts.append(f"{SENSITIVE[name]} {'as it is' if low == high == '1' else f'× {low} to × {high}'}")
    return f"The same springs stay best with {', '.join(parts)} (tried up to threefold)."


def _ways(grading: Grading) -> str:
    if not grading.policies:
        return ""
    c = grading.considered
    columns = [
        TextColumn("way of ordering"),
        TextColumn(f"costs\n{c.offer.currency or 'medians'}", "right"),
        TextColumn("days, post\nand bench", "right"),
        TextColumn("another order\n%", "right"),
    ]
    rows = [
        [p.policy, c.money(p.account.cost), f"{p.account.days:.0f}", f"{100 * p.account.chance_second_order:.0f}"]
        for p in grading.policies
    ]
    return table(columns, rows, width=WIDTH)


def _assumed(c: Considered) -> str:
    w, m = c.weights, c.offer.median_price
    rated = "multiples of the median price" if c.offer.currency else "in medians: no list has a price"
    return wrapped(
        f"Taken for granted: before any trial the need is {100 / 1.3:.0f} % with a spread of {100 * c.spread:.0f} % "
        f"(common practice, no source). One fitting weighs {_money(c, w.trial)}, waiting for another order "
        f"{_money(c, w.delay)}, each 10 % of overpower {_money(c, w.overpower / 10)}, finding no spring "
        f"{_money(c, w.give_up)}; a spring not needed keeps {100 * w.kept:.0f} % of its price ({rated}: "
        f"{_money(c, m)})."
    )


def _unfit(c: Considered, explain: bool) -> str:
    if not c.offer.unfit:
        return ""
    shown = c.offer.unfit[: MOST_UNFIT if explain else 3]
    rows = []
    for one in shown:
        row = c.offer.catalogue.row(one.row)
        rows.append([f"{row['supplier']} {row['item']}", size_text(row), one.says])
    head = f"Left out: {c.do_not_go_in}. Nearest:"
    return f"{head}\n\n{table(['spring', 'b × e × L, mm', 'why not'], rows, width=WIDTH)}"


def _run_assumed(findings: Sequence[Finding]) -> str:
    """Warn above the table where all of it rests on turns that nobody counted."""
    return "\n".join(wrapped(f"Warning: {f}") for f in findings if f.code == RUN_ASSUMED)


def _findings(findings: Sequence[Finding]) -> str:
    words = {"error": "Stop", "warning": "Warning", "note": "Note"}
    ordered = sorted(findings, key=lambda f: ("error", "warning", "note").index(f.severity))
    return "\n".join(wrapped(f"{words[f.severity]}: {f}") for f in ordered)


def _cautions(c: Considered, shown: Sequence[int]) -> str:
    """Say what can hurt: of any spring, of the springs shown, and of those that would be cut."""
    names = ["wound_spring"]
    names += ["too_strong"] if shown else []
    names += ["cutting"] if any(not isnan(c.offer.fits.trim_to_mm[spring]) for spring in shown) else []
    return "\n".join(wrapped(f"Caution: {caution(name)}") for name in names)


def _money(c: Considered, amount: float) -> str:
    return money_text(c.money(amount), c.offer.currency) if c.offer.currency else f"{amount:.2f}"
