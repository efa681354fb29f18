"""The springs of one or more lists, a column each; and what became of the rows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from orderbook.errors import Finding
from orderbook.measures.money import Money, minor_digits
from orderbook.shown import Shown

if TYPE_CHECKING:
    from pandas import DataFrame

TEXTS = ("supplier", "item", "end", "material", "currency", "note")
SIZES = ("width_mm", "strength_mm", "length_mm")


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Springs that can be bought, as columns of equal length.

    Missing is "" in texts, -1 in `price_minor` and `stock`. A price is per pack, as printed, in minor units of its
    currency; a currency of "" is one the list did not say. `file` and `line` say where a row came from.

    >>> two = Catalogue.of(supplier=["S", "S"], item=["a", "b"], width_mm=[2.5, 2.6], strength_mm=[0.16, 0.17],
    ...                    length_mm=[340, 350], price_minor=[1250, -1], pack=[3, 1], currency=["GBP", ""])
    >>> len(two), two.take([1]).row(0)["item"], two.price_each_minor.tolist()
    (2, 'b', [417, -1])
    """

    supplier: NDArray[np.object_]
    item: NDArray[np.object_]
    end: NDArray[np.object_]
    material: NDArray[np.object_]
    currency: NDArray[np.object_]
    note: NDArray[np.object_]
    width_mm: NDArray[np.float64]
    strength_mm: NDArray[np.float64]
    length_mm: NDArray[np.float64]
    price_minor: NDArray[np.int64]
    pack: NDArray[np.int64]
    stock: NDArray[np.int64]
    file: NDArray[np.object_]
    line: NDArray[np.int64]

    def __len__(self) -> int:
        """Return how many springs there are."""
        return len(self.item)

    @property
    def price_each_minor(self) -> NDArray[np.int64]:
        """Price of one piece in minor units, a half upwards; -1 where the list has no price."""
        each = (2 * self.price_minor + self.pack) // (2 * self.pack)
        return np.where(self.price_minor < 0, -1, each)

    def to_frame(self) -> DataFrame:
        """Return the springs as a pandas data frame with the columns of a tidy list; what is missing is NA.

        The price is for a pack as printed, in the currency's own unit; file and line say where a row came from.
        """
        import pandas as pd

        digits = {code: minor_digits(code) if code else 2 for code in set(self.currency.tolist())}
        scale = np.array([10.0 ** digits[code] for code in self.currency.tolist()])
        price = np.where(self.price_minor < 0, np.nan, self.price_minor / scale)
        frame = pd.DataFrame({name: getattr(self, name) for name in ("supplier", "item", *SIZES, "end", "material")})
        return frame.assign(
            price=price,
            currency=self.currency,
            pack=self.pack,
            stock=pd.array(np.where(self.stock < 0, 0, self.stock), dtype="Int64").copy(),
            note=self.note,
            file=self.file,
            line=self.line,
        ).assign(stock=lambda f: f.stock.mask(self.stock < 0))

    def take(self, rows: ArrayLike) -> Catalogue:
        """Return the rows of a mask or of indices, in that order."""
        which = np.asarray(rows)
        which = which if which.dtype == bool else which.astype(np.intp)
        return Catalogue(**{field.name: getattr(self, field.name)[which] for field in fields(self)})

    def row(self, index: int) -> dict[str, Any]:
        """Return one spring as plain Python values, with `price_each_minor`."""
        row = {field.name: _plain(getattr(self, field.name)[index]) for field in fields(self)}
        each = -1 if row["price_minor"] < 0 else (2 * row["price_minor"] + row["pack"]) // (2 * row["pack"])
        return row | {"price_each_minor": each}

    @staticmethod
    def of(**columns: Sequence[Any] | NDArray[Any]) -> Catalogue:
        """Make a catalogue of columns; what is left out is missing.

        Raises: TypeError without item, width_mm, strength_mm and length_mm; ValueError for unequal lengths.
        """
        for needed in ("item", *SIZES):
            if needed not in columns:
                raise TypeError(f"a catalogue needs the column {needed}")
        size = len(columns["item"])
        made = {f.name: _column(f.name, columns.get(f.name), size) for f in fields(Catalogue)}
        if wrong := [name for name, values in made.items() if len(values) != size]:
            raise ValueError(f"columns of unequal length: {', '.join(wrong)}")
        return Catalogue(**made)

    @staticmethod
    def concat(parts: Sequence[Catalogue]) -> Catalogue:
        """Join catalogues one after the other.

        >>> len(Catalogue.concat([]))
        0
        """
        if not parts:
            return Catalogue.of(**dict.fromkeys(("item", *SIZES), ()))
        if len(parts) == 1:
            return parts[0]
        return Catalogue(
            **{f.name: np.concatenate([getattr(part, f.name) for part in parts]) for f in fields(Catalogue)}
        )


@dataclass(frozen=True, slots=True)
class Reject:
    """A row that could not be used: where it is, what it says, why, and what to try."""

    file: str
    line: int
    column: str
    text: str
    reason: str
    try_this: str

    def as_dict(self) -> dict[str, Any]:
        """Return the reject as the JSON keys of the `catalogue` command."""
        return {name: getattr(self, name) for name in ("file", "line", "column", "text", "reason", "try_this")}


@dataclass(frozen=True, slots=True)
class ColumnTaken:
    """What a column of the list was taken for, with a few of its cells."""

    header: str
    meaning: str
    unit: str
    samples: tuple[str, ...]
    file: str = ""
    decimal: str = ""
    why: str = ""
    pack: int = 0
    each: bool = False
    table: int = 0  # of a list that holds several

    def as_dict(self) -> dict[str, Any]:
        """Return the column as the JSON keys of the `catalogue` command."""
        names = ("header", "meaning", "unit", "samples", "file", "decimal", "why")
        return {name: getattr(self, name) for name in names} | {"samples": list(self.samples)}


@dataclass(frozen=True, slots=True)
class SpringAsRead:
    """A spring of a list beside the text it came from, so that a person sees a mistake.

    said: headings and cells of its sizes and its price.
    """

    file: str
    line: int
    item: str
    width_mm: float
    strength_mm: float
    length_mm: float
    price: str
    said: tuple[tuple[str, str], ...]
    table: int = 0

    def as_dict(self) -> dict[str, Any]:
        """Return the spring as the JSON keys of the `catalogue` command."""
        names = ("file", "line", "item", "width_mm", "strength_mm", "length_mm", "price")
        return {name: getattr(self, name) for name in names} | {"said": dict(self.said)}


@dataclass(frozen=True, slots=True, repr=False)
class CatalogueReading(Shown):
    """The springs read, and the account of every row: in = kept + rejected + duplicate.

    `catalogue` are the springs, `rejects` the rows that could not be used and why, `columns` what each column was taken
    for, `shown` three springs of each table, the weakest, the middle one and the strongest, beside the text they came
    from.

    >>> from orderbook import read_catalogue
    >>> from orderbook.locate import data_folder
    >>> lists = read_catalogue(data_folder("demo_catalog") / "supplier_west.csv")
    >>> len(lists.to_frame()), len(lists.rejects), lists.columns[0].meaning
    (255, 0, 'supplier')
    """

    shown_words: ClassVar[str] = "orderbook.reports.catalogue_text:catalogue_text"
    shown_columns: ClassVar[tuple[str, ...]] = (
        "supplier", "item", "width_mm", "strength_mm", "length_mm", "end", "material", "price", "currency", "pack",
        "stock", "note", "file", "line",
    )  # fmt: skip

    catalogue: Catalogue
    rejects: tuple[Reject, ...]
    columns: tuple[ColumnTaken, ...]
    rows_in: int
    rows_kept: int
    rows_rejected: int
    rows_duplicate: int
    findings: tuple[Finding, ...]
    shown: tuple[SpringAsRead, ...] = ()

    def rejects_frame(self) -> DataFrame:
        """Return the rejected rows as a pandas data frame: file, line, column, text, reason, try_this."""
        import pandas as pd

        columns = ("file", "line", "column", "text", "reason", "try_this")
        return pd.DataFrame([reject.as_dict() for reject in self.rejects], columns=list(columns))

    def counts(self) -> dict[str, int]:
        """Return the row counts as JSON keys."""
        names = ("rows_in", "rows_kept", "rows_rejected", "rows_duplicate")
        return {name: getattr(self, name) for name in names}

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON keys of the `catalogue` command."""
        return {
            "springs": self.shown_rows(),
            "shown": [spring.as_dict() for spring in self.shown],
            "columns": [column.as_dict() for column in self.columns],
            "rejects": [reject.as_dict() for reject in self.rejects],
            **self.counts(),
            "findings": [finding.as_dict() for finding in self.findings],
        }

    def shown_rows(self) -> list[dict[str, Any]]:
        """Return the springs, a row each; prices as text, of a pack and of one piece."""
        return self.first_rows(len(self.catalogue))

    def first_rows(self, most: int) -> list[dict[str, Any]]:
        """Return the first springs."""
        springs = [self.catalogue.row(at) for at in range(min(most, len(self.catalogue)))]
        for spring in springs:
            spring["price"] = price_text(spring.pop("price_minor"), spring["currency"]) or None
            spring["price_each"] = price_text(spring.pop("price_each_minor"), spring["currency"]) or None
            spring["stock"] = None if spring["stock"] < 0 else spring["stock"]
        return springs


def price_text(minor: int, currency: str) -> str:
    """Return an amount as text, "" for a missing one; a currency nobody said has two decimals.

    >>> price_text(1250, "GBP"), price_text(1250, ""), price_text(-1, "GBP")
    ('12.50', '12.50', '')
    """
    return "" if minor < 0 else Money(minor, currency or "GBP").text


def _plain(value: Any) -> Any:
    return value.item() if isinstance(value, np.generic) else value


def _column(name: str, values: Sequence[Any] | NDArray[Any] | None, size: int) -> NDArray[Any]:
    if name in TEXTS or name == "file":
        return _texts([""] * size if values is None else values)
    if name in SIZES:
        return np.asarray(values, dtype=np.float64)
    missing = {"pack": 1, "line": 0}.get(name, -1)
    return np.full(size, missing, dtype=np.int64) if values is None else np.asarray(values, dtype=np.int64)


def _texts(values: Sequence[Any] | NDArray[Any]) -> NDArray[np.object_]:
    if isinstance(values, np.ndarray) and values.dtype == object:
        return values
    column = np.empty(len(values), dtype=object)
    column[:] = values
    return column
