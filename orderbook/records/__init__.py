"""The rules of the books: restorations, needs, orders, drawer, trials, work and ledger.

Pure functions on frozen records; no file format inside.
"""
