"""What the record of a restoration says, section by section, in its two editions.

The owner's copy is what belongs with the piece: as found, agreed, decided, done, and how to care for it; no supplier of
the trade, no caution for the bench, sums only where they are wished. The copy for the file holds all that was typed.
Asked for by published practice: American Institute for Conservation, Commentaries to the Guidelines for Practice 6 and
24 to 28.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, fields
from datetime import date
from typing import Any

from orderbook.answers.means import Quantity
from orderbook.answers.record_data import BarrelStory, PartStory, SpringTried, Story
from orderbook.records.accounts import Account, Sums
from orderbook.records.definition import book_definition
from orderbook.records.tables import RECORDS, OrderLine, RecordNote
from orderbook.reports.record_blocks import (
    Block,
    PartDecided,
    Photograph,
    Photographs,
    RowsShown,
    Section,
    Signatures,
    facts,
    section,
    shown,
    table,
    words,
)
from orderbook.reports.record_drawing import drawing
from orderbook.reports.tables import plus_minus

Photos = Mapping[str, Photograph]
"""Photographs that could be read, by the file name as it was typed."""
HEADS = ("estimate", "committed", "paid", "credits", "labour", "balance")


@dataclass(frozen=True, slots=True)
class Edition:
    """Who a copy is for, and whether it shows sums and hours."""

    owner: bool
    costs: bool

    @property
    def called(self) -> str:
        """Its name on the page."""
        return "Owner's copy" if self.owner else "Copy for the file"


def sections(story: Story, edition: Edition, photos: Photos, on: date) -> list[Section]:
    """Return the sections of one edition that say something."""
    made = [
        _piece(story, edition, on),
        _as_found(story, photos),
        _agreed(story, edition),
        _parts(story, edition),
        *(_springs(b, edition) for b in story.barrels),
        _during(story, photos),
        _materials(story, edition),
        _removed(story),
        _after(story, photos),
        _aftercare(story),
        _log(story, edition),
        _costs(story.account) if edition.costs else None,
        *(() if edition.owner else _for_the_file(story)),
        _sign(story, edition),
    ]
    return [one for one in made if one is not None]


def lacking(story: Story) -> tuple[str, ...]:
    """Name what published practice asks of a record and the book does not say yet."""
    r = story.restoration
    asked: tuple[tuple[str, Any], ...] = (
        ("who documents it (“your name” on Lists)", story.who),
        ("maker or origin", r.maker),
        ("when it was made", r.made),
        ("marks and labels", r.marks),
        ("measurements", r.measurements),
        ("condition on arrival", r.condition or story.said("as found")),
        ("photographs before", r.photographs or story.said("photograph before")),
        ("what was proposed", story.said("proposal")),
        ("who agreed, and when", story.said("agreed")),
        ("an estimate of time", r.estimate_hours),
        ("an estimate of cost", story.account.total.estimate),
        ("who did the work", [w for w in story.work if w.who] or story.who),
        ("photographs after", story.said("photograph after")),
        ("condition after", story.said("condition after")),
        ("how to wind it and its oil", story.said("winding", "oil", "aftercare")),
    )
    unsaid = [p.need.part for p in story.parts if p.need.state == "done" and not p.need.reversible]
    missing = [name for name, there in asked if not there]
    return (*missing, *([f"whether it can be undone: {', '.join(unsaid)}"] if unsaid else []))


def _piece(story: Story, edition: Edition, on: date) -> Section | None:
    r = story.restoration
    by = ", ".join(filter(None, (story.who, story.workshop)))
    return section(
        "The piece",
        facts(
            (
                ("Maker or origin", r.maker), ("Made", r.made), ("Movement", r.movement),
                ("Marks and labels", r.marks), ("Measurements", r.measurements),
                ("Owner's reference", r.owner_reference), ("Came with", r.came_with),
                ("Arrived", r.opened), ("Went back", r.closed),
                ("State", "" if edition.owner else r.state), ("Recorded by", by), ("Day of this record", on),
            )
        ),
        words(() if edition.owner else (r.note,)),
    )  # fmt: skip


def _as_found(story: Story, photos: Photos) -> Section | None:
    r = story.restoration
    barrels = [(f"{_train(b)}: set-up before let-down", _clicks(b)) for b in story.barrels]
    barrels += [(f"{_train(b)}: the spring that was in it", _fitted(b)) for b in story.barrels]
    names = [*_files(r.photographs), *(n.file for n in story.said("photograph before") if n.file)]
    return section(
        "As found",
        facts((("Condition on arrival", r.condition), *barrels)),
        _said(story.said("as found"), story),
        *_photographs(names, story.said("photograph before"), photos),
    )


def _train(told: BarrelStory) -> str:
    return f"{told.barrel.train.capitalize()} train" if told.barrel.train else told.barrel.barrel


def _clicks(told: BarrelStory) -> str:
    clicks, turns = told.barrel.set_up_clicks, told.barrel.set_up_turns
    return f"{shown(clicks)} clicks" if clicks is not None else f"{shown(turns)} turns" if turns is not None else ""


def _fitted(told: BarrelStory) -> str:
    """Say the size of the spring that was found, each with its ±, and what is known of it."""
    sizes = []
    for what in ("width", "strength", "length"):
        q = next((q for q in told.quantities if q.what == f"fitted {what}"), None)
        if q is not None:
            value, spread = plus_minus(q.measured.value, q.measured.u)
            sizes.append(f"{what} {value}" + (f" ± {spread}" if spread else "") + f" {q.unit}")
    return "; ".join(filter(None, (*sizes, told.barrel.fitted_origin)))


def _agreed(story: Story, edition: Edition) -> Section | None:
    r, found = story.restoration, story.account
    sums = []
    if edition.costs:
        estimate = found.total.estimate
        sums = [
            ("Estimate of cost", str(found.money(estimate)) if estimate else ""),
            ("Not above", "" if found.not_above is None else str(found.money(found.not_above))),
        ]
    changed = [p.need for p in story.parts if p.need.state == "withdrawn"]
    hours = f"{shown(r.estimate_hours)} h" if r.estimate_hours is not None else ""
    agreed = story.said("agreed")
    return section(
        "Proposed and agreed",
        _said(story.said("proposal"), story, "Proposed"),
        facts((("Estimate of time", hours), *sums)),
        _said(agreed, story, "Agreed") if agreed else words(("That the owner agreed is not noted.",), "note"),
        _said(story.said("change agreed"), story, "Changed, and agreed"),
        words(f"Left out: {need.part}; {_sentence(need.reason)}".strip("; ") for need in changed),
    )


def _parts(story: Story, edition: Edition) -> Section | None:
    return section("What was decided of each part, and done", *(_part(p, story, edition) for p in story.parts))


def _part(told: PartStory, story: Story, edition: Edition) -> PartDecided:
    need = told.need
    said = [_sentence(need.reason), _sentence(need.note)]
    said += [_noted(n) for n in told.notes if n.heading in ("new information", "as found", "part removed")]
    done = [_sentence(f"{shown(w.date)}: {w.done or 'worked on'}" + _by(w.who, story)) for w in told.work]
    bought = "; ".join(_bought(o, edition) for o in told.orders if o.state in ("received", "fitted"))
    return PartDecided(
        title=need.part or need.need,
        decision=", ".join(filter(None, (need.decision, need.state))),
        said=tuple(filter(None, said)),
        done=tuple(done),
        facts=facts_of(
            ("Evidence", need.evidence), ("New", bought), ("Can be undone", need.reversible),
            ("Old part is", need.old_part),
        ),
    )  # fmt: skip


def facts_of(*rows: tuple[str, Any]) -> tuple[tuple[str, str], ...]:
    """Return the facts of which something is said, as rows."""
    found = facts(rows)
    return found.rows if found else ()


def _bought(line: OrderLine, edition: Edition) -> str:
    """Name what was fitted: to the owner by what it is and its size, for the file by its supplier too."""
    size = " × ".join(shown(s) for s in (line.width_mm, line.strength_mm, line.trim_to_mm or line.length_mm) if s)
    if edition.owner:
        return f"mainspring {size} mm" if size else line.item
    return f"{line.order}, {line.supplier} {line.item}".strip() + (f" ({size} mm)" if size else "")


def _springs(told: BarrelStory, edition: Edition) -> Section | None:
    b = told.barrel
    kind = {"going": "going barrel", "fusee": "fusee"}.get(b.drive, b.drive)
    title = "The spring of the " + ", ".join(filter(None, (f"{b.train or 'one'} train", kind)))
    return section(
        title if edition.owner else f"{title}, {b.barrel}",
        _kept(told),
        _measured(told)
        if edition.owner
        else table(
            ("quantity", "value", "±", "unit", "from"),
            (_quantity(q) for q in told.quantities),
            caption="What was measured. About 19 times in 20 the quantity lies within its ±.",
            numbers=("value", "±"),
        ),
        table(
            ("spring", "width × strength × length, mm", "day", "set-up", "drive, %", "verdict", "what was seen", "now"),
            (_tried(t, edition) for t in told.tried),
            caption="Springs tried, in the order they were fitted. Drive is the least pull over the run, in per cent "
            "of the most this barrel can give.",
            numbers=("set-up", "drive, %"),
            bold=[n for n, t in enumerate(told.tried) if t.kept],
        ),
        drawing(told),
    )


def _kept(told: BarrelStory) -> Block | None:
    """Say which spring was kept, what it gives and how well that is known."""
    kept = [t for t in told.tried if t.kept]
    if not kept:
        return words(("No spring is kept in it yet.",), "note") if told.tried else None
    t = kept[-1]
    what = f"The spring kept is {_size(t)} mm"
    if t.drive is not None and t.drive_u is not None:
        value, spread = plus_minus(t.drive, t.drive_u, at_most=0)
        what += f"; it drives with {value}" + (f" ± {spread}" if spread else "") + " % of the most this barrel can give"
    clicks = f"; set up {shown(t.trial.clicks)} clicks" if t.trial.clicks is not None else ""
    ran = f"; it {t.trial.verdict} on {shown(t.trial.date)}" if t.trial.date else f"; it {t.trial.verdict}"
    return words((f"{what}{clicks}{ran}.",))


def _size(t: SpringTried) -> str:
    return " × ".join(f"{s:g}" for s in (t.width_mm, t.strength_mm, t.length_mm) if s is not None)


def _quantity(q: Quantity) -> tuple[str, ...]:
    value, spread = plus_minus(q.measured.value, q.measured.u)
    return q.what, value, spread or "exact", q.unit, q.measured.source


def _measured(told: BarrelStory) -> Block | None:
    """Say what was measured in one paragraph, each with its ±."""
    said = []
    for q in told.quantities:
        value, spread = plus_minus(q.measured.value, q.measured.u)
        said.append(f"{q.what} {value}" + (f" ± {spread}" if spread else "") + f" {q.unit}")
    return words((f"Measured: {'; '.join(said)}.",)) if said else None


def _tried(t: SpringTried, edition: Edition) -> tuple[str, ...]:
    trial = t.trial
    stopped = trial.stopped_turns, trial.stopped_hours
    after = [f"{shown(n)} {unit}" for n, unit in zip(stopped, ("turns", "hours"), strict=True) if n is not None]
    seen = [
        trial.seen,
        f"rod: {trial.rod}" if trial.rod else "",
        f"ran {shown(trial.ran_days)} days" if trial.ran_days else "",
        f"amplitude {shown(trial.amplitude)}°" if trial.amplitude else "",
    ]
    drive = ""
    if t.drive is not None and t.drive_u is not None:
        value, spread = plus_minus(t.drive, t.drive_u, at_most=0)
        drive = f"{value} ± {spread}" if spread else value
    number = len(t.called) > 0 and not edition.owner
    return (
        f"{t.name}, {t.called}" if number else t.name, _size(t), shown(trial.date),
        f"{shown(trial.clicks)} clicks" if trial.clicks is not None else "", drive,
        trial.verdict + (f" after {' / '.join(after)}" if after else ""), "; ".join(filter(None, seen)), t.became,
    )  # fmt: skip


def _during(story: Story, photos: Photos) -> Section | None:
    notes = story.said("photograph during")
    return section("During the work", _said(story.said("new information"), story, "Found out meanwhile"),
                   *_photographs([n.file for n in notes if n.file], notes, photos))  # fmt: skip


def _materials(story: Story, edition: Edition) -> Section | None:
    used = [row for row in story.ledger if row.category == "material" and row.kind == "paid" and row.note]
    listed = () if edition.owner else tuple(f"{row.note} ({shown(row.date)})" for row in used if not row.order)
    fitted = [o for o in story.orders if o.state in ("fitted", "received") and not o.need and o.strength_mm is None]
    return section("Materials used", _said(story.said("material"), story), words(listed),
                   words(_bought(o, edition) for o in fitted))  # fmt: skip


def _removed(story: Story) -> Section | None:
    parts = [(p.need.part, p.need.old_part) for p in story.parts if p.need.old_part]
    springs = [(f"spring {d.drawer}, {_strip(d)} mm", f"{d.state}: {d.note}".strip(": ")) for d in story.drawer
               if d.whose == "owner's"]  # fmt: skip
    return section("Parts taken out, and where they are", facts((*parts, *springs)),
                   _said(story.said("part removed"), story))  # fmt: skip


def _strip(spring: Any) -> str:
    return " × ".join(shown(s) for s in (spring.width_mm, spring.strength_mm, spring.length_mm) if s is not None)


def _after(story: Story, photos: Photos) -> Section | None:
    notes = story.said("photograph after")
    return section("Condition after the work", _said(story.said("condition after"), story),
                   *_photographs([n.file for n in notes if n.file], notes, photos))  # fmt: skip


def _aftercare(story: Story) -> Section | None:
    return section("Care from now on", _said(story.said("winding"), story, "Winding"),
                   _said(story.said("oil"), story, "Oil"), _said(story.said("aftercare"), story))  # fmt: skip


def _log(story: Story, edition: Edition) -> Section | None:
    heads = ("day", "who", "part", "what was done", "hours")
    rows = (
        (shown(w.date), w.who or story.who, story.part_of(w.need), w.done, shown(w.hours) if edition.costs else "")
        for w in story.work
    )
    return section("What was done, day by day", table(heads, rows, numbers=("hours",)))


def _costs(found: Account) -> Section | None:
    limits = [("agreed", found.agreed), ("not above", found.not_above)]
    said = [f"{name} {found.money(minor).text}" for name, minor in limits if minor is not None]
    caption = f"Sums in {found.currency}." + (f" Estimate {'; '.join(said)}." if said else "")
    rows = [(name, *_amounts(found, sums)) for name, sums in found.by_category.items()]
    note = (
        "Balance is the estimate less what is committed, paid and worked, with credits added. "
        f"Rows added: {found.rows_added}. Rows not added: {len(found.not_added)}."
    )
    return section(
        "What it costs",
        table(("category", *HEADS), rows, caption=caption, numbers=HEADS, foot=("all", *_amounts(found, found.total)))
        or words((caption,)),
        words((note,), "note"),
        words((f"Not added: {f}" for f in found.not_added), "trouble"),
    )


def _amounts(found: Account, sums: Sums) -> list[str]:
    amounts = (sums.estimate, sums.committed, sums.paid, sums.credit, sums.labour, sums.balance)
    return [found.money(amount).text if amount else "–" for amount in amounts]


def _for_the_file(story: Story) -> Iterator[Section | None]:
    lines = [o for o in story.orders if o.state not in ("planned", "cancelled")]
    yield section(
        "What was ordered",
        table(
            ("line", "from", "item", "ordered", "received", "state", "what was wrong"),
            ((o.order, o.supplier, _item(o), shown(o.ordered_on), shown(o.received_on), o.state, o.wrong)
             for o in lines),
        ),
    )  # fmt: skip
    yield section("For the file", _said(story.said("for the file"), story))
    yield section("Everything else that was typed", *_other_words(story))
    yield section("Cautions that belong to this work", words(story.cautions, "caution"))
    yield section("Readings that could not be read", words((str(f) for f in story.findings), "trouble"))
    missing = lacking(story)
    asked = f"Published practice asks for this too: {'; '.join(missing)}."
    yield section("Not in the book yet", words((asked,) if missing else (), "note"))


def _item(line: OrderLine) -> str:
    size = " × ".join(shown(s) for s in (line.width_mm, line.strength_mm, line.length_mm) if s is not None)
    return line.item + (f" ({size})" if size else "")


# columns of each table that the sections print; what else a hand typed in words follows at the end of the file's copy
_PRINTED: Mapping[str, tuple[str, ...]] = {
    "Barrels": ("barrel", "restoration", "train", "drive", "set_up_clicks", "fitted_origin"),
    "Needs": ("need", "restoration", "part", "decision", "reason", "evidence", "state", "note", "reversible",
              "old_part"),
    "Orders": ("order", "restoration", "barrel", "need", "supplier", "item", "state", "currency", "parcel", "wrong"),
    "Trials": ("order", "barrel", "verdict", "rod", "seen"),
    "Readings": ("barrel", "what", "unit", "instrument"),
    "Work": ("need", "done", "who"),
    "Ledger": ("restoration", "category", "kind", "currency", "order", "drawer", "barrel"),
    "Drawer": ("drawer", "order", "currency", "whose", "origin", "state"),
    "Restorations": ("restoration", "piece", "movement", "maker", "made", "marks", "measurements", "owner_reference",
                     "came_with", "condition", "state", "note", "photographs"),
}  # fmt: skip


def _other_words(story: Story) -> Iterator[RowsShown | None]:
    """List the words of each table that no section prints, so that nothing that was typed is lost."""
    rows: tuple[tuple[str, Iterable[Any], Callable[[Any], str]], ...] = (
        ("Restorations", (story.restoration,), lambda r: r.restoration),
        ("Barrels", (b.barrel for b in story.barrels), lambda r: r.barrel),
        ("Readings", (r for b in story.barrels for r in b.readings), lambda r: f"{r.barrel} {r.what} {r.value}"),
        ("Needs", (p.need for p in story.parts), lambda r: r.need),
        ("Orders", story.orders, lambda r: r.order),
        ("Trials", (t.trial for b in story.barrels for t in b.tried), lambda r: f"{r.order} in {r.barrel}"),
        ("Drawer", story.drawer, lambda r: r.drawer),
        ("Ledger", story.ledger, lambda r: f"{shown(r.date)} {r.category} {shown(r.amount)} {r.currency}"),
    )
    for name, records, called in rows:
        headers = {c.key: c.header for c in book_definition().tables[name].columns if c.kind != "worked"}
        keys = [f.name for f in fields(RECORDS[name]) if f.name in headers and f.name not in _PRINTED[name]]
        found = [
            (called(record), headers[key], text)
            for record in records
            for key in keys
            if isinstance(text := getattr(record, key), str) and text
        ]
        yield table((name, "column", "what stands there"), found)


def _sign(story: Story, edition: Edition) -> Section | None:
    names = [(story.who or "Restorer", "who did the work"), *([("Owner", "received the piece and this record")])]
    return section("Signed", Signatures(tuple(names)))


def _said(notes: Iterable[RecordNote], story: Story, label: str = "") -> Block | None:
    """Say notes as paragraphs, each with its day and who said it."""
    told = []
    for note in notes:
        if not note.said and not note.who:
            continue
        about = story.part_of(note.need) if note.need else ""
        head = ", ".join(filter(None, (label, shown(note.date), about)))
        who = f" ({note.who})" if note.who else ""
        told.append(f"{head}: {note.said}{who}" if head else _sentence(f"{note.said}{who}"))
    return words(told)


def _noted(note: RecordNote) -> str:
    return f"{shown(note.date)}: {note.said}".strip(": ") + (f" ({note.who})" if note.who else "")


def _photographs(names: Iterable[str], notes: Iterable[RecordNote], photos: Photos) -> Iterator[Block | None]:
    """Show the photographs that are there, and name those that are not."""
    listed = list(dict.fromkeys(names))
    captions = {n.file: ", ".join(filter(None, (n.said, shown(n.date), n.who))) for n in notes}
    there = [Photograph(photos[n].data_uri, n, captions.get(n, "")) for n in listed if n in photos]
    missing = [n for n in listed if n not in photos]
    yield Photographs(tuple(there)) if there else None
    unseen = [f"{name} ({captions[name]})" if captions.get(name) else name for name in missing]
    yield words((f"Photographs, not in this page: {'; '.join(unseen)}.",) if unseen else (), "note")
    told = [", ".join(filter(None, (n.said, shown(n.date), n.who))) for n in notes if not n.file]
    yield words(_sentence(said) for said in told)


def _files(text: str) -> list[str]:
    return [name for piece in text.replace(",", ";").replace("\n", ";").split(";") if (name := piece.strip())]


def files_of(story: Story) -> list[str]:
    """Return the file names of all photographs the record speaks of, as they were typed."""
    return list(dict.fromkeys([*_files(story.restoration.photographs), *(n.file for n in story.notes if n.file)]))


def _sentence(text: str) -> str:
    """End with a stop; the words stay as they were typed."""
    plain = text.strip()
    return plain if not plain or plain[-1] in ".!?" else f"{plain}."


def _by(who: str, story: Story) -> str:
    return f" ({who})" if who and who != story.who else ""
