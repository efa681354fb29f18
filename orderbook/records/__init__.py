"""The rules of the books: restorations, needs, orders, trials, work and ledger as frozen records and pure functions.

No file format is known here: a book comes in as rows by table, and goes out as changes to rows.
"""
