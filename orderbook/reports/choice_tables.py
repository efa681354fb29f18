"""The graded order and the ranked list as a person reads them: what to do first, and behind it what that rests on."""

from __future__ import annotations

from collections.abc import Sequence
from math import isnan

from orderbook.barrel.springs_seen import spring_said
from orderbook.cautions import caution
from orderbook.choosing.considering import Considered, size_text
from orderbook.choosing.evidence import TOO_WEAK
from orderbook.choosing.grading import NUMBERS, Grading
from orderbook.choosing.ranking import Ranking
from orderbook.choosing.reasons import Reasons
from orderbook.choosing.seen import hardest
from orderbook.choosing.weights import WEIGHTS
from orderbook.errors import Finding
from orderbook.measures import plainly
from orderbook.reports.tables import WIDTH, TextColumn, money_text, plus_minus, table, wrapped

SCREEN = 80  # columns of the first screen
LINES = 24  # and its lines
RUN_ASSUMED = "used_assumed"
MOST_UNFIT = 5  # nearest springs left out that are shown; --json has them all
INDICES = (
    "Drive is the least pull over the run and load the greatest, each in per cent of what the strongest useful spring "
    "of this barrel gives."
)
SHORT_CAUTION = "A wound spring can injure hand and eye: let it down fully before you open the barrel."
SENSITIVE = {
    "overpower": "the weight of overpower",
    "need": "the need before any trial",
    "spread": "its spread",
    "trial": "the bench time",
}


def grading_text(grading: Grading, *, why: bool = False) -> str:
    """The first screen of `grade`: the order, what to do next, how sure, one line why, the caution that matters now.

    With `why` the numbers behind it.
    """
    if why:
        return reasons_text(grading)
    c = grading.considered
    stops = [f for f in grading.findings if f.severity == "error"]
    blocks = [
        _run_assumed(grading.findings, SCREEN),
        "\n".join(wrapped(f"Stop: {f}", SCREEN) for f in stops),
        _first_table(grading),
        _doing(grading),
        "" if grading.fittings else _nearest(c, SCREEN),
        _warned(grading, len(stops)),
        _short_cautions(c, grading.order) + "\n" + _more(grading),
    ]
    return "\n\n".join(block for block in blocks if block)


def reasons_text(grading: Grading) -> str:
    """What `grade --why` adds: the order in numbers, the need, reasons, costs, what stays out, all findings."""
    c, why = grading.considered, grading.reasons()
    found = (*grading.findings, *(why.findings(c) if why else ()))
    blocks = [
        _run_assumed(grading.findings, WIDTH),
        _stages(grading) if grading.fittings else "",
        _findings([f for f in found if f.severity == "error"]),
        wrapped(f"Next: {grading.next_action}"),
        _need(c),
        _chances(grading, why),
        _why_these(grading, why),
        _ways(c, why),
        _assumed(c),
        _unfit(c, MOST_UNFIT),
        _findings([f for f in found if f.severity != "error" and f.code != RUN_ASSUMED]),
        _cautions(c, grading.order),
    ]
    return "\n\n".join(block for block in blocks if block)


def ranking_text(ranking: Ranking) -> str:
    """The answer of `rank` in words and tables."""
    c = ranking.considered
    of = f"{len(ranking.ranked)} of {ranking.counts['springs_that_go_in']} springs that may be proposed"
    head = f"Ranked by the best plan that begins with each ({of}); the least score is best:"
    dominated = ranking.counts["springs_dominated"]
    told = f"{dominated} of them load more than another that drives no less and costs no more." if dominated else ""
    blocks = [
        _run_assumed(ranking.findings, WIDTH),
        f"{head}\n\n{_ranks(ranking)}" if ranking.ranked else "",
        told,
        _need(c),
        _assumed(c),
        _unfit(c, 3 if ranking.ranked else MOST_UNFIT),
        _findings([f for f in ranking.findings if f.code != RUN_ASSUMED]),
        _cautions(c, [one.spring for one in ranking.ranked]),
    ]
    return "\n\n".join(block for block in blocks if block)


def _first_table(grading: Grading) -> str:
    if not grading.fittings:
        return ""
    c = grading.considered
    rows = [("", "spring", "b × e × L, mm", f"price {c.offer.currency}".strip(), "the one, %")]
    for number, stage in enumerate(grading.fittings, 1):
        row = c.offer.row(stage.row)
        name = f"{row['supplier']} {row['item']}"
        rows.append((str(number), name, _even_size(c, stage.row), _price(c, stage.row), f"{100 * stage.fits:.0f}"))
    size, price = (max(len(row[column]) for row in rows) for column in (2, 3))
    wide = min(max(len(row[1]) for row in rows), SCREEN - size - price - 19)
    lines = [f"{n:<3}{a[:wide]:<{wide}}  {b:<{size}}  {p:>{price}}  {w:>10}" for n, a, b, p, w in rows]
    goods, post = grading.to_pay
    if any(not c.offer.is_owned(i) for i in grading.order) and c.offer.currency:
        said = f"   springs {c.money(goods)}, postage {c.money(post)}"
        lines.append(f"{said:<{wide + size + 7}}{c.money(goods + post):>{price}}")
    head = "Try in this order, weakest first; stop at the first that runs well."
    return f"{head}\n\n" + "\n".join(line.rstrip() for line in lines)


def _even_size(c: Considered, spring: int) -> str:
    """Width × strength × length with the same decimals in every row, and what it is cut to."""
    row, trim = c.offer.row(spring), c.offer.fits.trim_to_mm[spring]
    cut = "" if isnan(trim) else f", cut to {trim:.0f}"
    return f"{row['width_mm']:.2f} × {row['strength_mm']:.3f} × {row['length_mm']:.0f}{cut}"


def _doing(grading: Grading) -> str:
    """What to do, how sure it is, and why, each in one line."""
    lines = [grading.first_action] if grading.first_action else []
    lines.append(f"Next: {_short_next(grading)}")
    if grading.fittings:
        lines.append(f"How sure: {_how_sure(grading)}")
        lines.append(f"Why: {_one_line_why(grading)}")
    return "\n".join(wrapped(line, SCREEN) for line in lines)


def _short_next(grading: Grading) -> str:
    """The next action with the springs by their number in the table above, where one is shown."""
    c, order = grading.considered, grading.order
    if not order or all(c.offer.is_owned(i) for i in order):
        return grading.then
    bought = [i for i in order if not c.offer.is_owned(i)]
    what = f"these {NUMBERS[len(order)]}" if len(bought) == len(order) else "what is not owned"
    what = "it" if len(order) == 1 else what
    pays = grading.rod_test is not None and grading.rod_test.pays
    rod = "do a rod test, it saves more than it takes (--why); else " if pays else ""
    still = "if it is still too weak, " if grading.first_action else ""
    return f"{still}{rod}order {what}; fit {c.offer.row(order[0])['item']} first."


def _how_sure(grading: Grading) -> str:
    right, strong = 100 * grading.chance_right, 100 * grading.chance_too_strong
    weak = 100 * (1 - grading.chance_of_a_fit)
    several = len(grading.fittings) > 1
    weakest = "the weakest that runs is too strong" if several else "it is too strong"
    together = "both" if len(grading.fittings) == 2 else f"all {NUMBERS[len(grading.fittings)]}"
    fails = f"{together} are too weak" if several else "it is too weak"
    return f"one is right {right:.0f} %, {weakest} {strong:.0f} %, {fails} {weak:.0f} %."


def _one_line_why(grading: Grading) -> str:
    c = grading.considered
    failed = hardest(c.seen, *TOO_WEAK)
    tried = f", and {spring_said(failed.what)} was too weak" if failed else ""
    above = grading.expected_overpower_percent
    return f"{c.start.says}{tried}; the one kept loads {above:.0f} % above what is needed, on average."


def _nearest(c: Considered, width: int) -> str:
    return _unfit(c, 3, width)


def _warned(grading: Grading, stops: int) -> str:
    """The warnings that matter now, one line each."""
    warned = [f for f in grading.findings if f.severity == "warning" and f.code != RUN_ASSUMED]
    room = 3 if grading.fittings else 2
    lines = [wrapped(f"Warning: {f.saw}.", SCREEN) for f in warned[: max(0, room - stops)]]
    return "\n".join(lines)


def _short_cautions(c: Considered, shown: Sequence[int]) -> str:
    cut = any(not isnan(c.offer.fits.trim_to_mm[spring]) for spring in shown)
    more = " A cut strip cannot go back: measure twice." if cut else ""
    return wrapped(SHORT_CAUTION + more, SCREEN)


def _more(grading: Grading) -> str:
    said = f", {len(grading.findings)} notes" if grading.findings else ""
    return f"More: --why (reasons, costs, what stays out{said}), --explain (every number)"


def _stages(grading: Grading) -> str:
    c = grading.considered
    columns = [
        TextColumn("", "right"),
        TextColumn("spring"),
        TextColumn("b × e × L, mm"),
        *NUMBERED,
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
    whys = [
        wrapped(f"{one['stage']}: {one['why']}; {_turns(c, stage.row)}{_set_up(one)}.")
        for one, stage in zip(told, grading.fittings, strict=True)
    ]
    return "\n\n".join(
        ["Try in this order, weakest first:", table(columns, rows, width=WIDTH), wrapped(INDICES), "\n".join(whys)]
    )


def _set_up(stage: dict[str, object]) -> str:
    if stage["set_up_clicks"] is not None:
        return f", set up {stage['set_up_clicks']} clicks"
    return f", set up {stage['set_up_turns']:.2f} turns" if stage["set_up_turns"] is not None else ""


def _ranks(ranking: Ranking) -> str:
    c = ranking.considered
    columns = [
        TextColumn("", "right"),
        TextColumn("spring"),
        TextColumn("b × e × L, mm"),
        *NUMBERED,
        TextColumn("turns", "right"),
        TextColumn("fill", "right"),
        TextColumn(f"price\n{c.offer.currency}", "right"),
        TextColumn("score", "right"),
    ]
    rows = []
    for one in ranking.ranked:
        turns, fill = c.offer.fits.delivered_turns[one.spring], c.offer.fits.fill[one.spring]
        cells = [f"{turns:.1f}", f"{fill:.2f}", _price(c, one.spring), f"{c.score(one.cost):.1f}"]
        rows.append([str(one.rank), *_spring(c, one.spring), *cells])
    whys = "\n".join(wrapped(f"{one.rank}: {one.why}.") for one in ranking.ranked[:3])
    return f"{table(columns, rows, width=WIDTH)}\n\n{whys}"


NUMBERED = (TextColumn("cut to\nmm", "right"), TextColumn("drive\n%", "right"), TextColumn("load\n%", "right"))


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
    kind = f"This is taken for a {c.bench.movement}{f', {c.bench.movement_said}' if c.bench.movement_said else ''}. "
    return wrapped(
        f"{kind}The need, the least drive it keeps running on, is probably about {c.weighed.belief.median_index:.0f} % "
        f"(nine times in ten {low:.0f} to {high:.0f}). 100 % is the strongest useful spring of this barrel, "
        f"{ref.width_mm:.2f} × {ref.strength_mm:.3f} × {ref.length_mm:.0f} mm: {plainly(ref.drive_nmm)} N·mm ± 30 %; "
        "beyond it more load, no more drive."
    )


def _chances(grading: Grading, why: Reasons | None) -> str:
    if not grading.fittings:
        return ""
    c = grading.considered
    told = (
        f"How sure: {_how_sure(grading)} The one kept loads {grading.expected_overpower_percent:.0f} % above what is "
        f"needed on average. {_to_pay(grading)}{_score(grading)}"
    )
    if why is not None:
        told += f" Allowing for springs that are not quite what the list says: {c.score(why.seen.cost):.1f}."
    return wrapped(told)


def _score(grading: Grading) -> str:
    c = grading.considered
    parts = [(name, c.score(value)) for name, value in grading.account.parts.items() if round(c.score(value), 1) > 0]
    said = ", ".join(f"{PARTS[name]} {value:.1f}" for name, value in parts)
    return (
        f"As a score, which weighs your time, waiting and risk with the price and is no bill: "
        f"{c.score(grading.account.cost):.1f} median prices on average: {said}."
    )


PARTS = {
    "price": "springs",
    "postage": "postage",
    "fitting": "fitting",
    "overpower": "overpower",
    "width": "width that is lacking",
    "cut": "cutting",
    "end": "another end",
    "delay": "waiting",
    "give_up": "giving up",
}


def _to_pay(grading: Grading) -> str:
    """Say what the order itself costs, apart from what time and waiting weigh; nothing where no list has prices."""
    c = grading.considered
    bought = [i for i in grading.order if not c.offer.is_owned(i)]
    if not bought or not c.offer.currency:
        return ""
    goods, post = grading.to_pay
    about = "" if all(c.offer.price[row] is not None for row in bought) else "about "
    return f"You would pay {about}{_money(c, goods)} and postage {c.money(post)} for this order. "


def _why_these(grading: Grading, why: Reasons | None) -> str:
    """Each spring against the best order without it, how far the weights may move, what a rod test would save."""
    if why is None:
        return ""
    c, told = grading.considered, []
    for one in why.alternatives:
        items = ", ".join(str(c.offer.row(i)["item"]) for i in one.order)
        then = f"best without it is {items}" if items else "without it nothing is worth ordering"
        told.append(f"{c.offer.row(one.row)['item']}: {then}, {c.score(one.costs_more):.1f} worse.")
    if told:
        told.insert(0, "Why these:")
    if why.sensitivity:
        told.append(_sensitivity(why))
    if (rod := grading.rod_test) is not None:
        told.append(
            f"A rod test before ordering would save about {c.score(rod.saves):.1f} on average and take "
            f"{c.score(rod.takes):.1f} of bench time."
        )
    return wrapped(" ".join(told))


def _sensitivity(why: Reasons) -> str:
    parts = []
    for name, stays in why.sensitivity:
        low = "0.33" if stays.down_to is None else f"{stays.down_to:.2g}"
        high = "3" if stays.up_to is None else f"{stays.up_to:.2g}"
        parts.append(f"{SENSITIVE[name]} {'as it is' if low == high == '1' else f'× {low} to × {high}'}")
    return f"The same springs stay best with {', '.join(parts)} (tried up to threefold)."


def _ways(c: Considered, why: Reasons | None) -> str:
    if why is None or not why.policies:
        return ""
    columns = [
        TextColumn("way of ordering"),
        TextColumn("score", "right"),
        TextColumn("days, post\nand bench", "right"),
        TextColumn("another order\n%", "right"),
    ]
    rows = [
        [
            p.policy,
            f"{c.score(p.account.cost):.1f}",
            f"{p.account.days:.0f}",
            f"{100 * p.account.chance_second_order:.0f}",
        ]
        for p in why.policies
    ]
    return table(columns, rows, width=WIDTH)


def _assumed(c: Considered) -> str:
    rated = "of the median price" if c.offer.currency else "of a median price, which no list tells"
    money = f", {_money(c, c.offer.median_price)}" if c.offer.currency else ""
    weights = "; ".join(
        f"{one.name} {c.weights[one.name]:.2g} ({one.says})"
        if one.is_share
        else f"{one.name} {c.score(c.weights[one.name]):.3g} ({one.says})"
        for one in WEIGHTS
    )
    return wrapped(
        f"Taken for granted: before any trial the need is {c.start.median:.0f} % with a spread of "
        f"{100 * c.start.spread:.0f} %: {c.start.says}. What things weigh, in multiples {rated}{money}: {weights}. "
        "The weights are common practice, no source."
    )


def _unfit(c: Considered, most: int, width: int = WIDTH) -> str:
    if not c.offer.unfit:
        return ""
    rows = []
    for one in c.offer.unfit[:most]:
        row = c.offer.catalogue.row(one.row)
        rows.append([f"{row['supplier']} {row['item']}", size_text(row), one.says])
    head = f"Left out: {c.do_not_go_in}. Nearest:"
    return f"{head}\n\n{table(['spring', 'b × e × L, mm', TextColumn('why not', wraps=True)], rows, width=width)}"


def _run_assumed(findings: Sequence[Finding], width: int) -> str:
    """Warn above the table where all of it rests on turns that nobody counted."""
    return "\n".join(wrapped(f"Warning: {f}", width) for f in findings if f.code == RUN_ASSUMED)


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


def _percent(chance: float) -> str:
    return f"{100 * chance:.0f}"
