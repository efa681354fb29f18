"""The record against what published practice asks, row by row; its two editions; and that no typed word is lost.

The rows are those of the American Institute for Conservation, Commentaries to the Guidelines for Practice 6, 24 to 28
(print of the web edition), in our own words.
"""

from datetime import date
from html import unescape
from typing import Any

import pytest

from orderbook.answers.record_data import story
from orderbook.records.books import Books, books_from
from orderbook.records.cells import text
from orderbook.records.definition import book_definition
from orderbook.records.tables import HEADING, READERS, RECORDS
from orderbook.reports.estimate import estimate_html
from orderbook.reports.record import record_html, worth_knowing
from orderbook.reports.record_blocks import Photograph
from orderbook.reports.record_sections import files_of, lacking

ON = date(2026, 4, 1)
DAY = date(2026, 3, 2)
PICTURE = "data:image/jpeg;base64,AAAA"


def whole_book(**more: list[dict[str, Any]]) -> Books:
    """A piece of which everything is noted that the book has room for."""
    piece = {
        "restoration": "R-001",
        "piece": "a lever watch (invented)",
        "movement": "watch",
        "maker": "unsigned, Swiss?",
        "made": "about 1905",
        "marks": "number 31",
        "measurements": "43 mm across",
        "owner_reference": "C-112",
        "came_with": "outer box",
        "condition": "stops at night",
        "photographs": "before.jpg",
        "state": "closed",
        "opened": DAY,
        "closed": ON,
        "estimate": 180,
        "estimate_hours": 4,
        "not_above": 220,
    }
    needs = [
        {"need": "N-0001", "restoration": "R-001", "barrel": "R-001-B1", "part": "mainspring", "decision": "buy",
         "reason": "set", "evidence": "later replacement", "reversible": "yes", "old_part": "with the piece",
         "state": "done"},
        {"need": "N-0002", "restoration": "R-001", "part": "click spring", "decision": "leave off",
         "reason": "there never was one", "evidence": "never required", "state": "withdrawn"},
        {"need": "N-0003", "restoration": "R-001", "part": "two odd holes", "decision": "reuse",
         "reason": "kept: traces of an earlier use", "evidence": "original", "reversible": "yes", "state": "done"},
    ]  # fmt: skip
    notes = {
        "as found": "dust, old oil", "photograph before": "dial side", "proposal": "clean, a new spring",
        "agreed": "by letter", "change agreed": "a new glass too", "new information": "a hidden repair under the dial",
        "material": "watch oil", "part removed": "old glass in a bag", "condition after": "runs 34 hours",
        "photograph during": "train side", "photograph after": "finished", "winding": "each morning",
        "oil": "in four years", "aftercare": "keep it dry", "for the file": "ask about the box",
    }  # fmt: skip
    files = {"photograph before": "dial.jpg", "photograph during": "train.jpg", "photograph after": "after.jpg"}
    return books_from(
        {
            "Settings": [
                {"setting": "book currency", "value": "GBP"},
                {"setting": "your name", "value": "A. Restorer"},
                {"setting": "workshop", "value": "the invented workshop"},
            ],
            "Restorations": [piece],
            "Barrels": [
                {
                    "barrel": "R-001-B1",
                    "restoration": "R-001",
                    "train": "going",
                    "drive": "going",
                    "set_up_clicks": 3,
                    "turns_used": "3.5",
                    "fitted_origin": "later",
                }
            ],
            "Readings": [
                {"barrel": "R-001-B1", "what": what, "value": value, "unit": "mm"}
                for what, value in (
                    ("bore", 15.6),
                    ("bore", 15.61),
                    ("arbor", 5.2),
                    ("depth", 3.1),
                    ("fitted strength", 0.15),
                )
            ],
            "Needs": needs,
            "Suppliers": [{"supplier": "Supplier North", "currency": "GBP", "postage": "4.50"}],
            "Orders": [
                {
                    "order": "O-0001",
                    "restoration": "R-001",
                    "barrel": "R-001-B1",
                    "need": "N-0001",
                    "qty": 1,
                    "supplier": "Supplier North",
                    "item": "NW-31",
                    "width_mm": 2.9,
                    "strength_mm": 0.165,
                    "length_mm": 500,
                    "price": 5,
                    "currency": "GBP",
                    "state": "fitted",
                    "ordered_on": DAY,
                    "received_on": DAY,
                    "qty_received": 1,
                    "stage": 1,
                }
            ],
            "Trials": [
                {
                    "order": "O-0001",
                    "barrel": "R-001-B1",
                    "date": date(2026, 3, 9),
                    "clicks": 4,
                    "verdict": "ran well",
                    "seen": "34 hours a day",
                    "amplitude": 265,
                }
            ],
            "Work": [
                {"date": DAY, "need": "N-0001", "hours": 1, "rate": 38, "done": "spring fitted"},
                {
                    "date": DAY,
                    "need": "R-001",
                    "who": "the apprentice",
                    "hours": 2,
                    "rate": 20,
                    "done": "bench cleaned",
                },
            ],
            "Ledger": [
                {
                    "date": DAY,
                    "restoration": "R-001",
                    "category": "spring",
                    "kind": "estimate",
                    "amount": 180,
                    "currency": "GBP",
                }
            ],
            "Notes": [
                {
                    "restoration": "R-001",
                    "date": DAY,
                    "heading": heading,
                    "said": said,
                    "who": "the owner",
                    "file": files.get(heading),
                }
                for heading, said in notes.items()
            ],
            **more,
        }
    )


def pages(books: Books, **how: Any) -> tuple[str, str]:
    told = story(books, "R-001", on=ON)
    photos = {name: Photograph(PICTURE, name) for name in files_of(told)}
    owner = record_html(told, on=ON, owner=True, costs=how.pop("owner_costs", False), photos=photos)
    return unescape(owner), unescape(record_html(told, on=ON, photos=photos, **how))


# what is asked for, and words of the whole book that answer it; both copies hold them
ASKED: dict[str, tuple[str, ...]] = {
    "purpose, name of who documents, date (24)": (
        "Restoration record R-001",
        "A. Restorer",
        "the invented workshop",
        "1 Apr 2026",
    ),
    "identity: number, owner, maker or origin, title, measurements, marks, date of making (24)": (
        "R-001",
        "C-112",
        "unsigned, Swiss?",
        "a lever watch (invented)",
        "43 mm across",
        "number 31",
        "about 1905",
    ),
    "condition as found, with pictures before (24, 25)": (
        "stops at night",
        "dust, old oil",
        "3 clicks",
        "before.jpg",
        "dial side",
    ),
    "plan: course, materials, estimate of time (26)": ("clean, a new spring", "watch oil", "4 h"),
    "consent to the plan and to each change, dated (6, 26)": (
        "Agreed, 2 Mar 2026: by letter (the owner)",
        "Changed, and agreed, 2 Mar 2026: a new glass too",
    ),
    "dated log of every action, with who did it (27)": (
        "2 Mar 2026",
        "spring fitted",
        "the apprentice",
        "bench cleaned",
    ),
    "materials added and removed (27)": ("watch oil", "old glass in a bag", "with the piece"),
    "pictures of what will be hidden again, and after (27)": ("train.jpg", "train side", "after.jpg", "finished"),
    "variations from the plan, new information (27)": (
        "click spring",
        "there never was one",
        "two odd holes",
        "a hidden repair under the dial",
    ),
    "recommendations for care (27)": ("each morning", "in four years", "keep it dry"),
    "springs tried and the one kept with its ± (ours)": ("2.9 × 0.165 × 500", "ran well", "34 hours a day", "± "),
    "reversible or not is said of each intervention (common practice)": ("Can be undone",),
    "room to sign": ("who did the work", "received the piece and this record"),
}


@pytest.mark.parametrize("row", ASKED)
def test_both_copies_hold_what_is_asked(row: str) -> None:
    owner, file = pages(whole_book())
    for said in ASKED[row]:
        assert said in owner, said
        assert said in file, said


def test_pictures_stand_inside_the_page() -> None:
    owner, _ = pages(whole_book())
    assert owner.count(f'src="{PICTURE}"') == 4


def test_the_kept_spring_is_said_with_its_spread() -> None:
    owner, _ = pages(whole_book())
    assert "The spring kept is 2.9 × 0.165 × 500 mm; it drives with" in owner
    kept = owner.partition("it drives with")[2][:20]
    assert "±" in kept


def test_the_owners_copy_keeps_suppliers_cautions_and_sums_back() -> None:
    owner, file = pages(whole_book())
    for said in ("Supplier North", "NW-31", "A wound spring can injure", "What it costs", "180.00"):
        assert said not in owner, said
        assert said in file, said
    with_costs, _ = pages(whole_book(), owner_costs=True)
    assert "180.00" in with_costs
    assert "Supplier North" not in with_costs


def test_a_supplier_in_typed_words_is_said_and_not_changed() -> None:
    books = whole_book(
        Work=[{"date": DAY, "need": "N-0001", "hours": 1, "rate": 38, "done": "as Supplier North advised"}]
    )
    told = story(books, "R-001", on=ON)
    owner = record_html(told, on=ON, owner=True, costs=False)
    assert "as Supplier North advised" in owner
    assert "supplier_named_to_owner" in {f.code for f in worth_knowing(told, owner)}


def test_nothing_is_lacking_of_a_whole_book_and_all_of_an_empty_one() -> None:
    assert lacking(story(whole_book(), "R-001", on=ON)) == ()
    empty = books_from({"Restorations": [{"restoration": "R-001", "state": "open"}]}, currency="GBP")
    assert len(lacking(story(empty, "R-001", on=ON))) == 15
    assert "That the owner agreed is not noted." in pages(empty)[0]


def _typed_everywhere() -> tuple[Books, dict[str, str]]:
    """Fill every column of words of every table of the piece with a word of its own."""
    plain = whole_book()
    tables, words = {}, {}
    definition = book_definition().tables
    for name in (
        "Restorations",
        "Barrels",
        "Readings",
        "Needs",
        "Orders",
        "Trials",
        "Drawer",
        "Work",
        "Ledger",
        "Notes",
    ):
        rows = [dict(row.values) for row in plain.tables.get(name, ())]
        if name == "Drawer":
            rows = [{"drawer": "D-0001", "order": "O-0001", "whose": "owner's", "state": "gone", "width_mm": 2.9,
                     "strength_mm": 0.15, "length_mm": 500}]  # fmt: skip
        for number, row in enumerate(rows):
            for key, reader in READERS[RECORDS[name]].items():
                by_hand = definition[name].column(key).kind != "worked"
                if (
                    by_hand
                    and reader is text
                    and key not in ("supplier", "unit", "instrument", "trigger", "file", "photographs")
                ):
                    word = f"{name.lower()}{number}{key.replace('_', '')}word"
                    row[key] = words[f"{name} {number} {key}"] = word
        tables[name] = rows
    return whole_book(**tables), words


def test_every_word_that_was_typed_is_printed() -> None:
    books, words = _typed_everywhere()
    owner, file = pages(books)
    assert len(words) > 60
    assert [where for where, word in words.items() if word not in owner + file] == []


def test_every_heading_of_notes_has_its_place() -> None:
    for heading in HEADING:
        books = whole_book(Notes=[{"restoration": "R-001", "date": DAY, "heading": heading, "said": "a word of its own",
                                   "file": "x.jpg" if heading.startswith("photo") else None}])  # fmt: skip
        owner, file = pages(books)
        assert "a word of its own" in file, heading
        assert ("a word of its own" in owner) == (heading != "for the file"), heading


HOSTILE = ('<script>alert(1)</script>', '"><img src=x onerror=alert(1)>', "{{ 7*7 }}", "\x00\x1b[31m", "a" * 5000,
           "\u202eevil", "]]>", "javascript:alert(1)", "</style><b>")  # fmt: skip


@pytest.mark.parametrize("said", HOSTILE)
def test_hostile_text_stays_text(said: str) -> None:
    books = whole_book(Notes=[{"restoration": "R-001", "heading": "as found", "said": said, "who": said, "file": said}])
    told = story(books, "R-001", on=ON)
    for page in (record_html(told, on=ON), record_html(told, on=ON, owner=True), estimate_html(told, on=ON)):
        assert "<script" not in page
        assert "<img src=x" not in page
        assert ">49<" not in page
        assert "<b>" not in page.replace("<b>Evidence", "").replace("<b>New", "").replace("<b>Can", "").replace(
            "<b>Old", ""
        )


def test_the_estimate_says_what_is_not_known() -> None:
    needs = [
        {"need": "N-0001", "restoration": "R-001", "part": "chain", "decision": "outside work", "state": "decided"},
        {"need": "N-0002", "restoration": "R-001", "part": "hands", "state": "open"},
    ]
    page = unescape(estimate_html(story(whole_book(Needs=needs, Trials=[]), "R-001", on=ON), on=ON))
    for said in ("180.00", "Nothing above 220.00 GBP", "chain: outside work, and no sum is estimated for it.",
                 "hands: what is to be done is not decided.", "Which spring the going train needs", "about 4 hours",
                 "I agree to what is proposed"):  # fmt: skip
        assert said in page, said
    assert "Supplier North" not in page
