"""Every table of a book as a frozen record; the name of a field is the key of its column.

Made from workbook_template/tables/*.toml by `python -m orderbook.records.make_tables`; change those, not this.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from types import MappingProxyType
from typing import Any

from orderbook.records.cells import (
    Reader,
    currency,
    day,
    hours,
    identifier,
    identifiers,
    number,
    one_of,
    shown,
    text,
    typed,
    whole,
)
from orderbook.records.rows import NOWHERE, Row, Value

WHAT = (
    "bore",
    "arbor",
    "depth",
    "fitted width",
    "fitted strength",
    "fitted length",
    "barrel outside",
    "chain height",
    "turns used",
    "set-up found",
    "fusee groove 1",
    "fusee groove 2",
    "fusee groove 3",
    "fusee groove 4",
    "fusee groove 5",
    "fusee groove 6",
    "fusee groove 7",
    "fusee groove 8",
)
YES_NO = ("yes", "no")
END = ("hole", "riveted hook", "loop", "T", "bridle")
RESTORATION_STATE = ("open", "waiting", "closed")
NEED_STATE = ("open", "decided", "done", "withdrawn")
ORDER_STATE = ("planned", "ordered", "received", "fitted", "in drawer", "returned", "lost", "cancelled")
DRAWER_STATE = ("in drawer", "fitted", "gone")
DECISION = ("buy", "make", "repair", "outside work", "reuse", "leave off")
REVERSIBLE = ("yes", "in part", "no")
OLD_PART = ("with the piece", "given to the owner", "kept here", "in the drawer", "there was none")
HEADING = (
    "as found",
    "photograph before",
    "photograph during",
    "photograph after",
    "proposal",
    "agreed",
    "change agreed",
    "new information",
    "material",
    "part removed",
    "condition after",
    "winding",
    "oil",
    "aftercare",
    "for the file",
)
FITTED_ORIGIN = ("original", "later", "unknown")
FAULT = ("strength", "friction", "other")
EVIDENCE = ("original", "later replacement", "missing", "never required")
CATEGORY = ("spring", "part", "material", "postage", "duty", "tax", "tool", "labour", "outside work")
KIND = ("estimate", "committed", "paid", "credit")
CURRENCY = ("GBP", "EUR", "USD", "CHF", "JPY")
WHOSE = ("ours", "owner's")
ORIGIN = ("new", "used", "original")
TRAIN = ("going", "striking", "chiming", "musical", "alarm")
DRIVE = ("going", "fusee")
MOVEMENT = ("watch", "clock")
VERDICT = ("too weak", "never ran", "stopped", "ran well", "too strong")


@dataclass(frozen=True, slots=True)
class StoredSpring:
    """Springs that also fit, in order."""

    barrel: str = ""
    number: int | None = None
    rank: int | None = None
    supplier: str = ""
    item: str = ""
    width_mm: Decimal | None = None
    strength_mm: Decimal | None = None
    length_mm: Decimal | None = None
    trim_to_mm: Decimal | None = None
    drive_index: Decimal | None = None
    drive_index_pm: Decimal | None = None
    load_index: Decimal | None = None
    load_index_pm: Decimal | None = None
    step_percent: Decimal | None = None
    chance_percent: Decimal | None = None
    turns_delivered: Decimal | None = None
    fill: Decimal | None = None
    price: Decimal | None = None
    currency: str = ""
    why: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class StoredAnswer:
    """One row a barrel: what refresh found, when, and from which inputs."""

    barrel: str = ""
    made_on: date | None = None
    next: str = ""
    next_stage: int | None = None
    kept_inputs: str = ""
    kept_lists: str = ""
    strength_low_mm: Decimal | None = None
    strength_high_mm: Decimal | None = None
    strength_mm: Decimal | None = None
    strength_pm_mm: Decimal | None = None
    slack_turns: Decimal | None = None
    slack_pm_turns: Decimal | None = None
    set_up_clicks: Decimal | None = None
    evenness: Decimal | None = None
    need: str = ""
    need_low: Decimal | None = None
    need_high: Decimal | None = None
    chance_of_a_fit: Decimal | None = None
    reference: str = ""
    window_from: Decimal | None = None
    window_to: Decimal | None = None
    energy_mj: Decimal | None = None
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class BarrelRow:
    """A barrel and what is asked of its spring. The numbers on the right come from Readings by themselves."""

    barrel: str = ""
    restoration: str = ""
    train: str = ""
    drive: str = ""
    stop_work: str = ""
    end: str = ""
    ratchet_teeth: int | None = None
    set_up_clicks: Decimal | None = None
    turns_asked: Decimal | None = None
    turns_used: Decimal | None = None
    run_hours: Decimal | None = None
    wheels: str = ""
    clearance_mm: Decimal | None = None
    fill: Decimal | None = None
    set_up_turns: Decimal | None = None
    fusee: str = ""
    material: str = ""
    rod_test: str = ""
    free_shape: str = ""
    fitted_origin: str = ""
    group: str = ""
    fault: str = ""
    arbor_hook: str = ""
    note: str = ""
    bore_mm: Decimal | None = None
    bore_pm_mm: Decimal | None = None
    arbor_mm: Decimal | None = None
    arbor_pm_mm: Decimal | None = None
    depth_mm: Decimal | None = None
    depth_pm_mm: Decimal | None = None
    barrel_outside_mm: Decimal | None = None
    barrel_outside_pm_mm: Decimal | None = None
    chain_height_mm: Decimal | None = None
    chain_height_pm_mm: Decimal | None = None
    fitted_width_mm: Decimal | None = None
    fitted_strength_mm: Decimal | None = None
    fitted_length_mm: Decimal | None = None
    learned_need: Decimal | None = None
    learned_spread: Decimal | None = None
    learned_from: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class StoredBelief:
    """How probable each drive index is as what the movement needs."""

    barrel: str = ""
    number: int | None = None
    index: Decimal | None = None
    percent: Decimal | None = None
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class ListedSpring:
    """Springs that can be bought, as read from suppliers' lists."""

    supplier: str = ""
    item: str = ""
    width_mm: Decimal | None = None
    strength_mm: Decimal | None = None
    length_mm: Decimal | None = None
    end: str = ""
    material: str = ""
    price: Decimal | None = None
    currency: str = ""
    pack: int | None = None
    stock: int | None = None
    supplier_note: str = ""
    file: str = ""
    line: int | None = None
    leave_out: str = ""
    note: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class StoredUnfit:
    """The nearest springs that do not go in, and what stops them."""

    barrel: str = ""
    number: int | None = None
    supplier: str = ""
    item: str = ""
    spring: str = ""
    measure: str = ""
    by: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class DrawerSpring:
    """A spring owned: bought, taken out, or the original."""

    drawer: str = ""
    label: str = ""
    width_mm: Decimal | None = None
    strength_mm: Decimal | None = None
    length_mm: Decimal | None = None
    end: str = ""
    pieces: int | None = None
    keep_at_least: int | None = None
    whose: str = ""
    origin: str = ""
    order: str = ""
    price: Decimal | None = None
    currency: str = ""
    state: str = ""
    note: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class StoredFinding:
    """What a person should know before acting on the answers."""

    barrel: str = ""
    number: int | None = None
    severity: str = ""
    where: str = ""
    words: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class InstrumentRow:
    """What you measure with and what it may be wrong by."""

    instrument: str = ""
    half_width_mm: Value = None
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class LearnedGroup:
    """What your closed barrels teach: for each group of movements, the need to be expected of the next piece."""

    movements: str = ""
    pieces: int | None = None
    others: int | None = None
    need: str = ""
    low: Decimal | None = None
    high: Decimal | None = None
    spread: Decimal | None = None
    practice_need: Decimal | None = None
    practice_spread: Decimal | None = None
    says: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class LedgerLine:
    """One cost or credit. Its kind goes from committed to paid; there is never a second row for the same cost."""

    date: date | None = None
    restoration: str = ""
    category: str = ""
    kind: str = ""
    amount: Decimal | None = None
    currency: str = ""
    rate: Decimal | None = None
    supplier: str = ""
    order: str = ""
    drawer: str = ""
    barrel: str = ""
    note: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Need:
    """A part or a material the restoration needs, the decision and its reason."""

    need: str = ""
    restoration: str = ""
    barrel: str = ""
    part: str = ""
    decision: str = ""
    reason: str = ""
    evidence: str = ""
    reversible: str = ""
    old_part: str = ""
    depends_on: tuple[str, ...] = ()
    state: str = ""
    review_on: date | None = None
    note: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class RecordNote:
    """What the restoration record says in words, and its photographs; one row, one statement."""

    restoration: str = ""
    date: date | None = None
    heading: str = ""
    need: str = ""
    said: str = ""
    who: str = ""
    file: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class OrderLine:
    """A line of an order, from planned to fitted or returned."""

    order: str = ""
    restoration: str = ""
    barrel: str = ""
    need: str = ""
    supplier: str = ""
    item: str = ""
    width_mm: Decimal | None = None
    strength_mm: Decimal | None = None
    length_mm: Decimal | None = None
    trim_to_mm: Decimal | None = None
    stage: int | None = None
    trigger: str = ""
    qty: int | None = None
    pack: int | None = None
    qty_bought: int | None = None
    price: Decimal | None = None
    goods: Decimal | None = None
    currency: str = ""
    parcel: str = ""
    postage: Decimal | None = None
    tax: Decimal | None = None
    rate: Decimal | None = None
    ordered_on: date | None = None
    expected: date | None = None
    received_on: date | None = None
    qty_received: int | None = None
    qty_lost: int | None = None
    return_by: date | None = None
    qty_returned: int | None = None
    qty_wrong: int | None = None
    wrong: str = ""
    state: str = ""
    note: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class RateOfDay:
    """Exchange rates to the book's currency."""

    date: date | None = None
    currency: str = ""
    rate: Decimal | None = None
    source: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """A reading a row: value and unit in two cells, so that the book can convert and average by itself."""

    barrel: str = ""
    what: str = ""
    value: Value = None
    unit: str = ""
    instrument: str = ""
    date: date | None = None
    note: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Restoration:
    """A timepiece on the bench, from its arrival to its return."""

    restoration: str = ""
    piece: str = ""
    movement: str = ""
    maker: str = ""
    made: str = ""
    marks: str = ""
    measurements: str = ""
    owner_reference: str = ""
    came_with: str = ""
    condition: str = ""
    photographs: str = ""
    state: str = ""
    opened: date | None = None
    closed: date | None = None
    estimate: Decimal | None = None
    estimate_hours: Decimal | None = None
    not_above: Decimal | None = None
    review_on: date | None = None
    note: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Setting:
    """What holds for the whole book."""

    setting: str = ""
    value: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class StoredStage:
    """The graded order of each barrel, weakest first."""

    barrel: str = ""
    stage: int | None = None
    found_in: str = ""
    supplier: str = ""
    item: str = ""
    width_mm: Decimal | None = None
    strength_mm: Decimal | None = None
    length_mm: Decimal | None = None
    trim_to_mm: Decimal | None = None
    drive_index: Decimal | None = None
    drive_index_pm: Decimal | None = None
    load_index: Decimal | None = None
    load_index_pm: Decimal | None = None
    step_percent: Decimal | None = None
    chance_percent: Decimal | None = None
    turns_delivered: Decimal | None = None
    fill: Decimal | None = None
    price: Decimal | None = None
    currency: str = ""
    why: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class SupplierRow:
    """Terms of each supplier."""

    supplier: str = ""
    currency: str = ""
    postage: str = ""
    free_above: Decimal | None = None
    minimum_order: Decimal | None = None
    lead_days: int | None = None
    return_days: int | None = None
    column_map: str = ""
    note: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class StoredTorque:
    """Torque at the barrel against turns up from run down, for the chart on the Bench."""

    barrel: str = ""
    number: int | None = None
    turns: Decimal | None = None
    reference_nmm: Decimal | None = None
    stage_1_nmm: Decimal | None = None
    stage_2_nmm: Decimal | None = None
    stage_3_nmm: Decimal | None = None
    fitted_nmm: Decimal | None = None
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Trial:
    """One fitting of one spring and how it did."""

    order: str = ""
    barrel: str = ""
    date: date | None = None
    clicks: Decimal | None = None
    length_fitted_mm: Decimal | None = None
    verdict: str = ""
    stopped_turns: Decimal | None = None
    stopped_hours: Decimal | None = None
    rod: str = ""
    ran_days: Decimal | None = None
    amplitude: Decimal | None = None
    seen: str = ""
    width_mm: Decimal | None = None
    strength_mm: Decimal | None = None
    length_mm: Decimal | None = None
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class UnitRow:
    """Units a reading may have, in millimetres; counts are 1."""

    unit: str = ""
    mm: Decimal | None = None
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class WeightRow:
    """What the graded order weighs; multiples of the median price unless the unit is a currency."""

    weight: str = ""
    value: Decimal | None = None
    unit: str = ""
    meaning: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Work:
    """Hours at the bench. The account takes labour done from here and from nowhere else."""

    date: date | None = None
    who: str = ""
    need: str = ""
    hours: Decimal | None = None
    rate: Decimal | None = None
    done: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


READERS: Mapping[type[Any], Mapping[str, Reader]] = {
    StoredSpring: {
        "barrel": identifier,
        "number": whole,
        "rank": whole,
        "supplier": text,
        "item": text,
        "width_mm": number,
        "strength_mm": number,
        "length_mm": number,
        "trim_to_mm": number,
        "drive_index": number,
        "drive_index_pm": number,
        "load_index": number,
        "load_index_pm": number,
        "step_percent": number,
        "chance_percent": number,
        "turns_delivered": number,
        "fill": number,
        "price": number,
        "currency": currency,
        "why": text,
    },
    StoredAnswer: {
        "barrel": identifier,
        "made_on": day,
        "next": text,
        "next_stage": whole,
        "kept_inputs": text,
        "kept_lists": text,
        "strength_low_mm": number,
        "strength_high_mm": number,
        "strength_mm": number,
        "strength_pm_mm": number,
        "slack_turns": number,
        "slack_pm_turns": number,
        "set_up_clicks": number,
        "evenness": number,
        "need": identifier,
        "need_low": number,
        "need_high": number,
        "chance_of_a_fit": number,
        "reference": text,
        "window_from": number,
        "window_to": number,
        "energy_mj": number,
    },
    BarrelRow: {
        "barrel": identifier,
        "restoration": identifier,
        "train": one_of(*TRAIN),
        "drive": one_of(*DRIVE),
        "stop_work": one_of(*YES_NO),
        "end": text,
        "ratchet_teeth": whole,
        "set_up_clicks": number,
        "turns_asked": number,
        "turns_used": number,
        "run_hours": hours,
        "wheels": text,
        "clearance_mm": number,
        "fill": number,
        "set_up_turns": number,
        "fusee": text,
        "material": text,
        "rod_test": text,
        "free_shape": text,
        "fitted_origin": one_of(*FITTED_ORIGIN),
        "group": text,
        "fault": one_of(*FAULT),
        "arbor_hook": text,
        "note": text,
        "bore_mm": shown,
        "bore_pm_mm": shown,
        "arbor_mm": shown,
        "arbor_pm_mm": shown,
        "depth_mm": shown,
        "depth_pm_mm": shown,
        "barrel_outside_mm": shown,
        "barrel_outside_pm_mm": shown,
        "chain_height_mm": shown,
        "chain_height_pm_mm": shown,
        "fitted_width_mm": shown,
        "fitted_strength_mm": shown,
        "fitted_length_mm": shown,
        "learned_need": number,
        "learned_spread": number,
        "learned_from": text,
    },
    StoredBelief: {
        "barrel": identifier,
        "number": whole,
        "index": number,
        "percent": number,
    },
    ListedSpring: {
        "supplier": text,
        "item": text,
        "width_mm": number,
        "strength_mm": number,
        "length_mm": number,
        "end": text,
        "material": text,
        "price": number,
        "currency": currency,
        "pack": whole,
        "stock": whole,
        "supplier_note": text,
        "file": text,
        "line": whole,
        "leave_out": one_of(*YES_NO),
        "note": text,
    },
    StoredUnfit: {
        "barrel": identifier,
        "number": whole,
        "supplier": text,
        "item": text,
        "spring": text,
        "measure": text,
        "by": text,
    },
    DrawerSpring: {
        "drawer": identifier,
        "label": text,
        "width_mm": number,
        "strength_mm": number,
        "length_mm": number,
        "end": text,
        "pieces": whole,
        "keep_at_least": whole,
        "whose": one_of(*WHOSE),
        "origin": one_of(*ORIGIN),
        "order": identifier,
        "price": number,
        "currency": currency,
        "state": one_of(*DRAWER_STATE),
        "note": text,
    },
    StoredFinding: {
        "barrel": identifier,
        "number": whole,
        "severity": text,
        "where": text,
        "words": text,
    },
    InstrumentRow: {
        "instrument": text,
        "half_width_mm": typed,
    },
    LearnedGroup: {
        "movements": text,
        "pieces": whole,
        "others": whole,
        "need": identifier,
        "low": number,
        "high": number,
        "spread": number,
        "practice_need": number,
        "practice_spread": number,
        "says": text,
    },
    LedgerLine: {
        "date": day,
        "restoration": identifier,
        "category": one_of(*CATEGORY),
        "kind": one_of(*KIND),
        "amount": number,
        "currency": currency,
        "rate": number,
        "supplier": text,
        "order": identifier,
        "drawer": identifier,
        "barrel": identifier,
        "note": text,
    },
    Need: {
        "need": identifier,
        "restoration": identifier,
        "barrel": identifier,
        "part": text,
        "decision": one_of(*DECISION),
        "reason": text,
        "evidence": one_of(*EVIDENCE),
        "reversible": one_of(*REVERSIBLE),
        "old_part": one_of(*OLD_PART),
        "depends_on": identifiers,
        "state": one_of(*NEED_STATE),
        "review_on": day,
        "note": text,
    },
    RecordNote: {
        "restoration": identifier,
        "date": day,
        "heading": one_of(*HEADING),
        "need": identifier,
        "said": text,
        "who": text,
        "file": text,
    },
    OrderLine: {
        "order": identifier,
        "restoration": identifier,
        "barrel": identifier,
        "need": identifier,
        "supplier": text,
        "item": text,
        "width_mm": number,
        "strength_mm": number,
        "length_mm": number,
        "trim_to_mm": number,
        "stage": whole,
        "trigger": text,
        "qty": whole,
        "pack": whole,
        "qty_bought": whole,
        "price": number,
        "goods": number,
        "currency": currency,
        "parcel": identifier,
        "postage": number,
        "tax": number,
        "rate": number,
        "ordered_on": day,
        "expected": day,
        "received_on": day,
        "qty_received": whole,
        "qty_lost": whole,
        "return_by": day,
        "qty_returned": whole,
        "qty_wrong": whole,
        "wrong": text,
        "state": one_of(*ORDER_STATE),
        "note": text,
    },
    RateOfDay: {
        "date": day,
        "currency": currency,
        "rate": number,
        "source": text,
    },
    ReadingRow: {
        "barrel": identifier,
        "what": text,
        "value": typed,
        "unit": text,
        "instrument": text,
        "date": day,
        "note": text,
    },
    Restoration: {
        "restoration": identifier,
        "piece": text,
        "movement": one_of(*MOVEMENT),
        "maker": text,
        "made": text,
        "marks": text,
        "measurements": text,
        "owner_reference": text,
        "came_with": text,
        "condition": text,
        "photographs": text,
        "state": one_of(*RESTORATION_STATE),
        "opened": day,
        "closed": day,
        "estimate": number,
        "estimate_hours": hours,
        "not_above": number,
        "review_on": day,
        "note": text,
    },
    Setting: {
        "setting": text,
        "value": text,
    },
    StoredStage: {
        "barrel": identifier,
        "stage": whole,
        "found_in": text,
        "supplier": text,
        "item": text,
        "width_mm": number,
        "strength_mm": number,
        "length_mm": number,
        "trim_to_mm": number,
        "drive_index": number,
        "drive_index_pm": number,
        "load_index": number,
        "load_index_pm": number,
        "step_percent": number,
        "chance_percent": number,
        "turns_delivered": number,
        "fill": number,
        "price": number,
        "currency": currency,
        "why": text,
    },
    SupplierRow: {
        "supplier": text,
        "currency": currency,
        "postage": text,
        "free_above": number,
        "minimum_order": number,
        "lead_days": whole,
        "return_days": whole,
        "column_map": text,
        "note": text,
    },
    StoredTorque: {
        "barrel": identifier,
        "number": whole,
        "turns": number,
        "reference_nmm": number,
        "stage_1_nmm": number,
        "stage_2_nmm": number,
        "stage_3_nmm": number,
        "fitted_nmm": number,
    },
    Trial: {
        "order": identifier,
        "barrel": identifier,
        "date": day,
        "clicks": number,
        "length_fitted_mm": number,
        "verdict": one_of(*VERDICT, begins=("stopped",)),
        "stopped_turns": number,
        "stopped_hours": hours,
        "rod": text,
        "ran_days": number,
        "amplitude": number,
        "seen": text,
        "width_mm": shown,
        "strength_mm": shown,
        "length_mm": shown,
    },
    UnitRow: {
        "unit": text,
        "mm": number,
    },
    WeightRow: {
        "weight": text,
        "value": number,
        "unit": text,
        "meaning": text,
    },
    Work: {
        "date": day,
        "who": text,
        "need": identifier,
        "hours": hours,
        "rate": number,
        "done": text,
    },
}


RECORDS: Mapping[str, type[Any]] = MappingProxyType(
    {
        "AlsoFits": StoredSpring,
        "Answers": StoredAnswer,
        "Barrels": BarrelRow,
        "Belief": StoredBelief,
        "Catalogue": ListedSpring,
        "DoesNotGoIn": StoredUnfit,
        "Drawer": DrawerSpring,
        "Findings": StoredFinding,
        "Instruments": InstrumentRow,
        "Learned": LearnedGroup,
        "Ledger": LedgerLine,
        "Needs": Need,
        "Notes": RecordNote,
        "Orders": OrderLine,
        "Rates": RateOfDay,
        "Readings": ReadingRow,
        "Restorations": Restoration,
        "Settings": Setting,
        "Stages": StoredStage,
        "Suppliers": SupplierRow,
        "Torque": StoredTorque,
        "Trials": Trial,
        "Units": UnitRow,
        "Weights": WeightRow,
        "Work": Work,
    }
)
# the column that makes a row count
KEYS: Mapping[str, str] = MappingProxyType(
    {
        "AlsoFits": "barrel",
        "Answers": "barrel",
        "Barrels": "barrel",
        "Belief": "barrel",
        "Catalogue": "supplier",
        "DoesNotGoIn": "barrel",
        "Drawer": "drawer",
        "Findings": "barrel",
        "Instruments": "instrument",
        "Learned": "movements",
        "Ledger": "restoration",
        "Needs": "need",
        "Notes": "restoration",
        "Orders": "order",
        "Rates": "currency",
        "Readings": "barrel",
        "Restorations": "restoration",
        "Settings": "setting",
        "Stages": "barrel",
        "Suppliers": "supplier",
        "Torque": "barrel",
        "Trials": "order",
        "Units": "unit",
        "Weights": "weight",
        "Work": "need",
    }
)
