"""The one objective: what following a plan costs, as a sum of named terms.

A restorer orders a few springs, fits the weakest, and goes on until one runs well or until giving up. Each term is due
at one kind of moment:

* `ordered`: once for each spring of an order, whether it is fitted or not;
* `fitted`: once for each spring that is fitted;
* `kept`: for the one spring that is kept, by how it suits the need;
* `sent`: once for each order, by the suppliers it goes to and what they are sent;
* `given up`: once, where no spring is found.

The expected cost weighs each with the chance of its moment. The plan search, the account of a plan, the simulation of
restorers, the reasons, what `explain` prints and the oracles in the tests all ask this module, so that a new term is
one function and one line of TERMS, and a line of `weights.WEIGHTS` where it has a weight of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from orderbook.choosing.belief import Belief, Floats, cell_middles
from orderbook.choosing.postage import Terms
from orderbook.choosing.springs import Flags, Springs, Whole
from orderbook.choosing.weights import Weights

Due = Literal["ordered", "fitted", "kept", "sent", "given up"]


@dataclass(frozen=True, slots=True, eq=False)
class Choice:
    """All that decides an order: the belief, the springs, each supplier's terms, the weights, springs an order.

    `enough` is ln of the load of the just-sufficient strip at each cell of the belief, against the reference's load;
    left out, the load is taken in the unit of the drive.
    """

    belief: Belief
    offered: Springs
    terms: tuple[Terms, ...]
    weights: Weights
    most: int = 3
    enough: Floats = field(default_factory=cell_middles, repr=False)
    _kept: list[Overpower] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        """Keep the sums of the belief once they are made."""
        object.__setattr__(self, "_kept", [])

    @property
    def is_flat(self) -> bool:
        """Whether no supplier's postage hangs on what an order is worth."""
        return all(terms.is_flat for terms in self.terms)


@dataclass(frozen=True, slots=True)
class Term:
    """One term of the cost: its key, what it is for, when it is due, and what it comes to.

    `cost` takes the choice and, where it is ordered or fitted, rows of springs; where it is sent, which suppliers are
    used and what is ordered from each (None for the least they can charge). Of a kept spring it gives `Overpower`.
    """

    name: str
    says: str
    due: Due
    cost: Callable[..., Any]


def lost_by_ordering(choice: Choice, rows: Whole) -> Floats:
    """What the price does not keep, lost whether a spring is needed or not; nothing for what is owned."""
    lost = (1 - share_kept(choice, rows)) * choice.offered.price[rows]
    return np.where(choice.offered.owned[rows], 0.0, lost)


def lost_by_fitting(choice: Choice, rows: Whole) -> Floats:
    """The rest of the price of the one piece that is used."""
    return share_kept(choice, rows) * choice.offered.price[rows] / choice.offered.pieces[rows]


def share_kept(choice: Choice, rows: Whole) -> Floats:
    """Share of its price that each spring keeps if it is not needed."""
    return np.where(choice.offered.cut[rows], choice.weights["kept_cut"], choice.weights["kept"])


def bench_time(choice: Choice, rows: Whole) -> Floats:
    """One fitting each."""
    return np.full(np.shape(rows), choice.weights["trial"])


def narrowness(choice: Choice, rows: Whole) -> Floats:
    """The width a strip lacks: it has that much less to bear on, and may wander between floor and cover."""
    return np.asarray(choice.weights["width"] * choice.offered.lacks[rows])


def cutting(choice: Choice, rows: Whole) -> Floats:
    """A strip that is too long is cut, and its outer end made again."""
    return np.asarray(choice.weights["cut"] * choice.offered.cut[rows])


def another_end(choice: Choice, rows: Whole) -> Floats:
    """An end of another kind than the barrel wants is made anew; where the strip is cut, that is done already."""
    return np.asarray(choice.weights["end"] * (choice.offered.new_end[rows] & ~choice.offered.cut[rows]))


def overpower(choice: Choice) -> Overpower:
    """How far the spring that is kept loads above what the movement needs."""
    below, eased = (
        np.concatenate([[0.0], np.cumsum(p)]) for p in (choice.belief.p, choice.belief.p * np.exp(-choice.enough))
    )
    return Overpower(choice.enough, below, eased, choice.weights["lambda"], choice.weights["give_up"])


def postage(choice: Choice, used: Flags, worth: Floats | None) -> Floats:
    """Each supplier's charge for what is ordered there; infinite below a least order."""
    if worth is None:
        return np.asarray(used @ np.array([terms.least for terms in choice.terms]))
    charged = np.zeros(used.shape[:-1])
    for number, terms in enumerate(choice.terms):
        charged += np.where(used[..., number], terms.charge(worth[..., number]), 0.0)
    return charged


def waiting(choice: Choice, used: Flags, worth: Floats | None) -> Floats:
    """The wait for the slowest supplier, in the usual days of the suppliers; the first order waits too."""
    slowest = np.where(used, np.array([terms.wait for terms in choice.terms]), 0.0)
    return np.asarray(choice.weights["delay"] * slowest.max(axis=-1, initial=0.0))


def giving_up(choice: Choice) -> float:
    """No spring is found."""
    return choice.weights["give_up"]


TERMS = (
    Term("price", "springs", "ordered", lost_by_ordering),
    Term("price", "springs", "fitted", lost_by_fitting),
    Term("postage", "postage", "sent", postage),
    Term("fitting", "fitting", "fitted", bench_time),
    Term("overpower", "overpower", "kept", overpower),
    Term("width", "width that is lacking", "fitted", narrowness),
    Term("cut", "cutting", "fitted", cutting),
    Term("end", "another end", "fitted", another_end),
    Term("delay", "waiting", "sent", waiting),
    Term("give_up", "giving up", "given up", giving_up),
)


def parts_due(choice: Choice, due: Due, *about: Any) -> dict[str, Any]:
    """Each term due at such a moment, by name."""
    return {term.name: term.cost(choice, *about) for term in TERMS if term.due == due}


def ordered(choice: Choice, rows: Whole) -> Floats:
    """What ordering springs costs, whether they are fitted or not."""
    return _sum(parts_due(choice, "ordered", rows))


def fitted(choice: Choice, rows: Whole) -> Floats:
    """What fitting springs costs."""
    return _sum(parts_due(choice, "fitted", rows))


def sent(choice: Choice, used: Flags, worth: Floats | None = None) -> Floats:
    """What sending orders costs: which suppliers are used, and what is ordered from each; by default the least."""
    return _sum(parts_due(choice, "sent", used, worth))


def kept(choice: Choice, edge: Whole, load: Floats) -> Floats:
    """What keeping a spring of this load costs, over all needs below a grid edge; both broadcast."""
    if not choice._kept:
        choice._kept.extend(parts_due(choice, "kept").values())
    return np.asarray(sum(one.up_to(edge, load) for one in choice._kept))


def kept_at(choice: Choice, cell: Whole, load: Floats) -> Floats:
    """What keeping a spring of this load costs where the need is in this cell; both broadcast."""
    return np.asarray(sum(one.at(cell, load) for one in parts_due(choice, "kept").values()))


def given_up(choice: Choice) -> float:
    """What giving up costs."""
    return float(sum(parts_due(choice, "given up").values()))


def excess(choice: Choice, cell: Whole, load: Floats) -> Floats:
    """How far a load lies above that of the just-sufficient strip, as a share: 0.09 is 9 % more than is needed."""
    return np.maximum(np.expm1(load - choice.enough[cell]), 0.0)


def used_by(choice: Choice, order: tuple[int, ...]) -> tuple[Flags, Floats]:
    """Which suppliers an order goes to, and what is ordered from each in the supplier's own money."""
    rows = np.array(order, dtype=np.intp)
    used, worth = np.zeros(len(choice.terms), bool), np.zeros(len(choice.terms))
    used[choice.offered.supplier[rows]] = True
    np.add.at(worth, choice.offered.supplier[rows], choice.offered.listed[rows])
    return used, worth


def charged(choice: Choice, order: tuple[int, ...]) -> float:
    """Postage of an order; infinite below a least order."""
    return float(postage(choice, *used_by(choice, order)))


def outlay(choice: Choice, order: tuple[int, ...]) -> float:
    """What an order costs when it is made: prices of what is not owned, and postage."""
    rows = np.array(order, dtype=np.intp)
    return float(choice.offered.price[rows][~choice.offered.owned[rows]].sum()) + charged(choice, order)


@dataclass(frozen=True, slots=True)
class Overpower:
    """min(λ·max(load/L*(need) − 1, 0), give-up): λ for each doubling, but never more than giving up.

    L*(need) is the load of the just-sufficient strip: both sides are loads. `below` and `eased` are running sums over
    the belief from which any spring's overpower between two needs is a few look-ups.
    """

    enough: Floats
    below: Floats
    eased: Floats
    weight: float
    ceiling: float

    def up_to(self, edge: Whole, load: Floats) -> Floats:
        """Cost over all needs below a grid edge for springs of load y; `edge` and `load` broadcast."""
        serves = np.minimum(edge, np.searchsorted(self.enough, load))
        far = load - np.log1p(self.ceiling / self.weight) if self.weight > 0 else np.full_like(load, -np.inf)
        too_far = np.minimum(edge, np.searchsorted(self.enough, far))
        over = np.exp(load) * (self.eased[serves] - self.eased[too_far]) - (self.below[serves] - self.below[too_far])
        return np.asarray(self.ceiling * self.below[too_far] + self.weight * over)

    def at(self, cell: Whole, load: Floats) -> Floats:
        """Cost where the need is in a cell."""
        over = np.maximum(np.expm1(load - self.enough[cell]), 0.0)
        return np.minimum(self.weight * over, self.ceiling)


def _sum(parts: Mapping[str, Any]) -> NDArray[np.float64]:
    return np.asarray(sum(parts.values()))
