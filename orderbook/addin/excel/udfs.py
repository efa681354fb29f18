"""The module a live book names: xlwings imports it in the user's Python and finds the worksheet functions here."""

from __future__ import annotations

from orderbook.addin.excel.publishing import publish

try:
    from xlwings.udfs import xlarg, xlfunc
except ImportError:  # no xlwings, or not Excel on Windows: there is nothing to publish to
    pass
else:
    publish(globals(), xlfunc, xlarg)
