"""Staged orders: which planned line is due, which waits for a verdict, which can never come to be needed."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from orderbook.records.books import Books
from orderbook.records.identifiers import tidy
from orderbook.records.index import barrel_of, index
from orderbook.records.packs import pieces_good, pieces_in_hand
from orderbook.records.states import GONE
from orderbook.records.tables import DrawerSpring, OrderLine, Trial
from orderbook.records.verdicts import last_trial, side_of

Due = Literal["due", "waits", "off", "not read"]
_STAGE_WEAK = re.compile(r"if stage (\d+) (?:is|was) too weak")
_SPRING_WEAK = re.compile(r"if ([od]-?\s?\d+) (?:is|was) too weak")
_AFTER_NEED = re.compile(r"after (n-?\s?\d+)(?: is done)?")
_TRAIN_RUNS = re.compile(r"after the (?:(going|time|striking|chiming|musical|alarm) )?train runs")


@dataclass(frozen=True, slots=True)
class Standing:
    """How a planned line stands, and why."""

    due: Due
    why: str


def _plain(trigger: str) -> str:
    return " ".join(trigger.casefold().split())


def standing(books: Books, line: OrderLine) -> Standing:
    """Say whether a planned line is due, waits, is off for good, or has a trigger that cannot be read.

    A trigger is empty or `now`; `if stage 1 is too weak`; `if O-0031 is too weak` (or D-0004);
    `after N-0003`; `after the train runs` (or `after the striking train runs`).
    A line that waits is off once a spring of the same barrel ran well or was too strong.
    """
    said = _plain(line.trigger)
    if said in ("", "now"):
        return Standing("due", "now")
    if match := _STAGE_WEAK.fullmatch(said):
        return _after_stage(books, line, int(match[1]))
    if match := _SPRING_WEAK.fullmatch(said):
        return _after_spring(books, line, tidy(match[1]))
    if match := _AFTER_NEED.fullmatch(said):
        return _after_need(books, tidy(match[1]))
    if match := _TRAIN_RUNS.fullmatch(said):
        return _after_train(books, line, {"time": "going", None: ""}.get(match[1], match[1]))
    return Standing("not read", f"“{line.trigger}” is not understood")


@dataclass(frozen=True, slots=True)
class PassedOver:
    """A line that will never be tried, and what the line that waits for it waits for instead."""

    gone: OrderLine
    trigger: str


def when_passed_over(books: Books, line: OrderLine) -> PassedOver | None:
    """Return what a line should wait for where the one it waits for was cancelled or sent back untried.

    It is what that one waited for: the first that is left is tried first. A lost line is waited for: it may turn up, or
    be ordered again.
    """
    said, seen, found = line.trigger, {line.order}, None
    while gone := _gone_before(books, line, said):
        if gone.order in seen:
            return PassedOver(gone, "now")
        seen.add(gone.order)
        said = " ".join(gone.trigger.split()) or "now"
        found = PassedOver(gone, said)
    return found


def _gone_before(books: Books, line: OrderLine, trigger: str) -> OrderLine | None:
    said = _plain(trigger)
    if match := _STAGE_WEAK.fullmatch(said):
        before = [o for o in same_choice(books, line) if o.stage == int(match[1]) and o.order != line.order]
    elif match := _SPRING_WEAK.fullmatch(said):
        before = [o for o in (index(books).orders.get(tidy(match[1])),) if o]
    else:
        return None
    gone = [o for o in before if o.state in ("cancelled", "returned") and not last_trial(books, o.order)]
    return gone[-1] if before and len(gone) == len(before) and not _settled(books, line) else None


def same_choice(books: Books, line: OrderLine) -> tuple[OrderLine, ...]:
    """Return the order lines that are springs to choose from for the same barrel, the line itself too."""
    barrel, need = barrel_of(books, line), line.need

    def alike(other: OrderLine) -> bool:
        if other.stage is None:
            return False
        return barrel_of(books, other) == barrel if barrel else other.need == need

    return tuple(other for other in index(books).orders_of[line.restoration] if alike(other))


def _after_stage(books: Books, line: OrderLine, stage: int) -> Standing:
    before = [other for other in same_choice(books, line) if other.stage == stage and other.order != line.order]
    tried = [trial for other in before if (trial := last_trial(books, other.order))]
    if tried:
        return _by_verdict(books, line, tried[-1], f"stage {stage} ({tried[-1].order})")
    if settled := _settled(books, line):
        return settled
    if not before:
        return Standing("waits", f"for stage {stage}, which is not in Orders")
    return Standing("waits", _for_a_verdict(before, f"stage {stage}"))


def _for_a_verdict(before: Sequence[OrderLine], name: str) -> str:
    """Say what stands in the way of a verdict, where more than a trial does."""
    last = before[-1]
    called = f"{name} ({last.order})" if name else last.order
    if all(other.state in GONE for other in before):
        how = "is lost: order it again, or cancel it" if last.state == "lost" else f"was {last.state} without a trial"
        return f"for {called}, which {how}"
    if all(pieces_in_hand(other) and not pieces_good(other) for other in before):
        return f"for {called}, which came wrong: send it back, and order it again"
    return f"for the verdict on {called}"


def _after_spring(books: Books, line: OrderLine, spring: str) -> Standing:
    before = index(books).orders.get(spring)
    # a spring of the drawer may have been tried in other barrels before
    if trial := last_trial(books, spring, "" if before else barrel_of(books, line)):
        return _by_verdict(books, line, trial, spring)
    why = _for_a_verdict([before], "") if before else f"for the verdict on {spring}"
    return _settled(books, line) or Standing("waits", why)


def drawer_spring_before(books: Books, line: OrderLine) -> DrawerSpring | None:
    """Return the spring of the drawer whose verdict in this barrel a line waits for, while it lies there."""
    match = _SPRING_WEAK.fullmatch(_plain(line.trigger))
    spring = index(books).drawer.get(tidy(match[1])) if match else None
    if spring is None or spring.state not in ("", "in drawer") or _settled(books, line):
        return None
    return None if last_trial(books, spring.drawer, barrel_of(books, line)) else spring


def _by_verdict(books: Books, line: OrderLine, trial: Trial, name: str) -> Standing:
    if side_of(trial.verdict) == "weak":
        return _settled(books, line) or Standing("due", f"{name}: {trial.verdict}")
    return Standing("off", f"{name}: {trial.verdict}")


def _settled(books: Books, line: OrderLine) -> Standing | None:
    """Say that the choice is over: a spring of this barrel ran well, or was too strong already."""
    barrel = barrel_of(books, line)
    mine = {other.order for other in same_choice(books, line)} - {line.order}
    tried = index(books).trials_of[line.restoration]
    for spring in {trial.order for trial in tried if trial.order in mine or (barrel and trial.barrel == barrel)}:
        trial = last_trial(books, spring)
        if trial and spring != line.order and side_of(trial.verdict) in ("kept", "strong"):
            return Standing("off", f"{spring}: {trial.verdict}")
    return None


def _after_need(books: Books, name: str) -> Standing:
    need = index(books).needs.get(name)
    if need is None:
        return Standing("waits", f"for {name}, which is not in Needs")
    if need.state == "withdrawn":
        return Standing("off", f"{name} ({need.part}) was withdrawn")
    return (
        Standing("due", f"{name} is done") if need.state == "done" else Standing("waits", f"for {name} ({need.part})")
    )


def _after_train(books: Books, line: OrderLine, train: str) -> Standing:
    own = barrel_of(books, line)
    for spring in dict.fromkeys(trial.order for trial in index(books).trials_of[line.restoration]):
        trial = last_trial(books, spring)
        if trial is None:
            continue
        barrel = index(books).barrels.get(trial.barrel)
        fits = barrel is not None and barrel.train == train if train else trial.barrel != own
        if fits and side_of(trial.verdict) == "kept":
            return Standing("due", f"{trial.barrel}: {trial.order} {trial.verdict}")
    return Standing("waits", f"until the {train + ' ' if train else ''}train runs")
