"""An estimate for the owner on one page: by category, with what is not known yet, and room to agree."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from orderbook.answers.record_data import PartStory, Story
from orderbook.records.accounts import AGREED
from orderbook.reports.record import page_html
from orderbook.reports.record_blocks import Block, Section, Signatures, facts, section, shown, table, words

FOR = {"buy": ("spring", "part"), "make": ("labour",), "repair": ("labour",), "outside work": ("outside work",)}
MEANT = {AGREED: "in one sum", "duty": "customs duty", "outside work": "work by others"}


def estimate_html(story: Story, *, on: date) -> str:
    """Write the estimate as one HTML file."""
    r = story.restoration
    made = [_piece(story, on), _proposed(story), _costs(story), _unknown(story), _agree(story)]
    told = [one for one in made if one is not None]
    return page_html(f"Estimate {r.restoration}", r.piece, "For the owner", told, on, tight=True)


def _piece(story: Story, on: date) -> Section | None:
    r = story.restoration
    by = ", ".join(filter(None, (story.who, story.workshop)))
    rows = (
        ("Owner's reference", r.owner_reference),
        ("Condition on arrival", r.condition),
        ("Estimate by", by),
        ("Day", on),
    )
    return section("The piece", facts(rows))


def _proposed(story: Story) -> Section | None:
    parts = [p.need for p in story.parts if p.need.state != "withdrawn" and p.need.decision]
    rows = [(need.part, need.decision, need.reason) for need in parts]
    notes = words(note.said for note in story.said("proposal"))
    return section("What is proposed", notes, table(("part", "proposed", "why"), rows))


def _costs(story: Story) -> Section | None:
    found, r = story.account, story.restoration
    rows = [(MEANT.get(name, name), found.money(sums.estimate).text)
            for name, sums in found.by_category.items() if sums.estimate]  # fmt: skip
    hours = f"about {shown(r.estimate_hours)} hours of work" if r.estimate_hours is not None else ""
    most = None if found.not_above is None else found.money(found.not_above)
    limit = "" if most is None else f"Nothing above {most} is done without a new word."
    total = found.money(found.total.estimate).text
    block: Block | None = words(("No sum is estimated yet.",), "note")
    if rows:
        block = table(("for", f"estimate, {found.currency}"), rows, numbers=(f"estimate, {found.currency}",),
                      foot=("all", total))  # fmt: skip
    return section("What it may cost", block, words((hours, limit)))


def _unknown(story: Story) -> Section | None:
    return section("What is not known yet", words(_not_known(story)))


def _not_known(story: Story) -> Iterator[str]:
    """Say what can still change the sum."""
    estimated = {name for name, sums in story.account.by_category.items() if sums.estimate}
    for told in story.parts:
        need = told.need
        if need.state in ("withdrawn", "done"):
            continue
        if not need.decision:
            yield f"{need.part}: what is to be done is not decided."
        elif not _is_estimated(told, estimated):
            yield f"{need.part}: {need.decision}, and no sum is estimated for it."
        elif told.orders and any(o.price is None for o in told.orders if o.state == "planned"):
            yield f"{need.part}: a price is not known."
    open_ones = [b.barrel.train or b.barrel.barrel for b in story.barrels if not any(t.kept for t in b.tried)]
    if open_ones:
        trains = f"the {' and the '.join(open_ones)} train"
        yield f"Which spring {trains} needs is found by trying, the weakest first; more than one may be bought."
    if story.restoration.estimate_hours is None:
        yield "How many hours it will take."


def _is_estimated(told: PartStory, estimated: set[str]) -> bool:
    wanted = FOR.get(told.need.decision, ())
    return not wanted or AGREED in estimated or any(name in estimated for name in wanted)


def _agree(story: Story) -> Section | None:
    said = "I agree to what is proposed, and to the sum and the limit above."
    names = (("Owner", "agrees"), (story.who or "Restorer", "offers"))
    return section("Agreed", words((said,)), Signatures(names))
