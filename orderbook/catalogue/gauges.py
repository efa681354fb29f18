"""Gauge numbers to mm, by a table the user names; published wire gauges are shipped, no maker's mainspring gauge."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from orderbook.errors import OrderbookError, error
from orderbook.measures import length_mm

COLUMNS = ("gauge", "number", "mm")
SHIPPED = Path(__file__).with_name("gauges")
_NUMBER = re.compile(
    r"(?:(?:no|nr|n|num|number|nummer|size|gauge|force|forza)\b[.°º]?|#|№|n[°º])?\s*(0{2,7}|[0-9]{1,3}(?:/0)?)"
)


@dataclass(frozen=True, slots=True)
class GaugeTable:
    """Gauge name (folded) → number → mm, and where it came from."""

    source: str
    gauges: dict[str, dict[str, float]]

    def only(self, said: str) -> dict[str, float] | None:
        """Return the one gauge of the table, or the one that `said` (a heading, a cell) names; None if unclear."""
        if len(self.gauges) == 1:
            return next(iter(self.gauges.values()))
        named = [name for name in self.gauges if re.search(rf"(?<!\w){re.escape(name)}(?!\w)", said.casefold())]
        return self.gauges[named[0]] if len(named) == 1 else None


def shipped_gauges() -> tuple[str, ...]:
    """Names of the published wire gauges that come with the package.

    >>> shipped_gauges()
    ('awg', 'bwg', 'stubs_steel', 'swg')
    """
    return tuple(sorted(path.stem for path in SHIPPED.glob("*.csv")))


@cache
def gauge_table(name: str | Path) -> GaugeTable:
    """Read a gauge table: a CSV file `gauge,number,mm`, or the name of a shipped one.

    Raises: OrderbookError(gauge_table_not_read).

    >>> gauge_table("swg").gauges["swg"]["30"]
    0.31496
    """
    if str(name) in shipped_gauges():
        text = (SHIPPED / f"{name}.csv").read_text(encoding="utf-8")
    else:
        try:
            text = Path(name).read_text(encoding="utf-8-sig")
        except FileNotFoundError as problem:
            known = f"Expected a CSV file, or one of the shipped tables: {', '.join(shipped_gauges())}."
            raise error("gauge_table_not_read", where=str(name), saw="no such file", expected=known) from problem
        except UnicodeDecodeError as problem:
            raise error("gauge_table_not_read", where=str(name), saw="not a text file") from problem
    return _table(text, str(name))


def gauge_number(text: str) -> str | None:
    """Return a gauge number in one spelling (`No. 000` and `3/0` are `3/0`); None if the cell is none.

    >>> gauge_number("Nr. 12"), gauge_number("000"), gauge_number("0.16")
    ('12', '3/0', None)
    """
    match = _NUMBER.fullmatch(text.strip().casefold())
    if match is None:
        return None
    number = match[1]
    if re.fullmatch(r"0{2,}", number):
        return f"{len(number)}/0"
    return number if "/" in number or number == "0" else number.lstrip("0")


def _table(text: str, name: str) -> GaugeTable:
    lines = [line for line in text.splitlines() if line.strip() and not line.startswith("#")]
    rows = csv.DictReader(io.StringIO("\n".join(lines)), delimiter=";" if lines and lines[0].count(";") > 1 else ",")
    if not set(COLUMNS) <= {(field or "").strip().casefold() for field in rows.fieldnames or ()}:
        saw = f"columns {', '.join(rows.fieldnames or ()) or 'none'}"
        raise error("gauge_table_not_read", where=name, saw=saw)
    gauges: dict[str, dict[str, float]] = {}
    for count, row in enumerate(rows, start=2):
        _add(
            gauges, {(k or "").strip().casefold(): str(v or "").strip() for k, v in row.items()}, f"{name} row {count}"
        )
    if not gauges:
        raise error("gauge_table_not_read", where=name, saw="no row")
    return GaugeTable(name, gauges)


def _add(gauges: dict[str, dict[str, float]], row: dict[str, str], where: str) -> None:
    number = gauge_number(row["number"])
    try:
        mm = length_mm(row["mm"], where=where)
    except OrderbookError as problem:
        raise error("gauge_table_not_read", where=where, saw=f"mm is {row['mm']!r}") from problem
    gauge = gauges.setdefault(row["gauge"].casefold(), {})
    if number is None or gauge.get(number, mm) != mm:
        raise error(
            "gauge_table_not_read", where=where, saw=f"number {row['number']!r} cannot be used, or is there twice"
        )
    gauge[number] = mm
