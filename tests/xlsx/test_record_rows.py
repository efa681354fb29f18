"""A book's rows reach the rules of the books as typed, and come back where they stood."""

import datetime as dt
from pathlib import Path

from orderbook.records.rows import Append, Clear, Put
from orderbook.sheets.new_book import write_new_book
from orderbook.xlsx.changes import Changes, commit, with_record_changes
from orderbook.xlsx.reading import open_book
from tests.places import cell_of


def test_rows_go_there_and_back(tmp_path: Path) -> None:
    path = tmp_path / "b.xlsx"
    write_new_book(
        path,
        {
            "Restorations": [{"restoration": "R-001", "state": "open", "opened": dt.date(2026, 3, 2), "estimate": 120}],
            "Orders": [{"order": "O-0001", "restoration": "R-001", "qty": 1, "price": 6.5, "state": "planned"}],
            "Ledger": [{"restoration": "R-001", "category": "spring", "kind": "paid", "amount": 1, "currency": "GBP"}],
        },
    )
    opened = open_book(path)
    books = opened.records()
    assert books.currency == "GBP"
    assert books.restoration("R-001").opened == dt.date(2026, 3, 2)
    line = books.order("O-0001")
    assert line.row.place.of("price") == f"Orders!{cell_of(path, 'Orders', 0, 'price')} (price)"
    changes = Changes()
    with_record_changes(
        changes,
        opened,
        [
            Put("Orders", line.row.place.row, {"state": "ordered", "ordered_on": dt.date(2026, 3, 12)}),
            Clear("Ledger", books.ledger[0].row.place.row),
            Append("Orders", {"order": "O-0002", "restoration": "R-001", "state": "planned"}),
        ],
    )
    commit(opened, changes)
    after = open_book(path).records()
    assert [(o.order, o.state, o.ordered_on) for o in after.orders] == [
        ("O-0001", "ordered", dt.date(2026, 3, 12)),
        ("O-0002", "planned", None),
    ]
    assert after.ledger == ()
    assert after.unread == ()


def test_rows_typed_below_a_table_are_seen(tmp_path: Path) -> None:
    path = tmp_path / "b.xlsx"
    write_new_book(path, {"Suppliers": [{"supplier": "Supplier North"}]})
    opened, changes = open_book(path), Changes()
    table = opened.anatomy.tables["Suppliers"]
    changes.put("Suppliers", (table.bottom + 1, table.left), "Supplier South")
    commit(opened, changes)
    rows = [s.row.place for s in open_book(path).records().suppliers]
    assert [(place.row, place.below) for place in rows] == [(4, False), (table.bottom + 2, True)]
