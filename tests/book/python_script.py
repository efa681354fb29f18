"""What a person in Python writes, from readings to the record: the tests run it and hand it to a type checker.

Beside it stand the invented book `clocks.xlsx` and the invented lists `demo_catalog`.
"""

from pathlib import Path

import pandas as pd
import pint

import orderbook as ob

u = pint.get_application_registry()  # type: ignore[no-untyped-call]  # pint writes no types there
suppliers_frame = pd.DataFrame({"supplier": ["Supplier North"], "currency": ["GBP"], "postage": [4.50]})

barrel = ob.Barrel(bore=[15.60, 15.62] * u.mm, arbor="5.2 mm", depth=3.1, used=3.5, movement="watch")
barrel = barrel.tried("2.9 x 0.15 x 560", "too weak")
answer = ob.size(barrel)
strength: float = answer.strength.value
spread: float = answer.strength.u
table: pd.DataFrame = answer.to_frame()
printed: str = str(answer)
keys: dict[str, object] = answer.as_dict()

lists = ob.read_catalogue("demo_catalog/supplier_north_watch.csv", supplier="Supplier North")
springs: pd.DataFrame = lists.to_frame()
left_out: int = len(lists.rejects)
by_frame = ob.read_catalogue(pd.read_csv("demo_catalog/supplier_north_watch.csv"), supplier="Supplier North")

order = ob.grade(barrel, lists, suppliers=suppliers_frame, currency="GBP", end="hole")
stages: pd.DataFrame = order.stages
next_action: str = order.next_action
codes: list[str] = [found.code for found in order.findings]
title: str = order.plot(ax=None).get_title()
ranked: pd.DataFrame = ob.rank(barrel, by_frame, top=3).springs
side_by_side: pd.DataFrame = ob.compare(barrel, order.stages).to_frame()

book = ob.Book("clocks.xlsx")
rows = book["Readings"]
readings: pd.DataFrame = rows.to_frame()
worked_out = book.refresh()
sheet: pd.DataFrame = book.order("R-007").to_frame()
for state in ("ordered", "received"):
    book.mark(state, "O-0001", on="2026-03-20")
noted = book.trial("O-0001", "too weak", on="2026-03-29")
after: str = str(noted)
safe: bool = not any(found.severity == "error" for found in book.check().findings)
record: list[Path] = list(book.record("R-007", into="records").files)
