"""How an answer is shown: as text, as a data frame, as HTML in a notebook, as a picture; one way for all answers.

An answer says which of its JSON rows make a table and which function writes its words; the rest is here. Words and
pictures belong to rooms above the answers, so their function is named (`module:function`) and imported when asked.
"""

from __future__ import annotations

from pathlib import Path
from pkgutil import resolve_name
from typing import TYPE_CHECKING, Any, ClassVar

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from pandas import DataFrame


class Shown:
    """What every answer can do beside its own attributes: text, data frame, HTML, JSON keys."""

    __slots__ = ()

    shown_words: ClassVar[str] = ""
    """The function that writes the answer as text, `module:function`."""
    shown_key: ClassVar[str] = ""
    """The JSON key whose rows make the data frame."""
    shown_columns: ClassVar[tuple[str, ...]] = ()
    """The columns a person looks at first; a data frame begins with them, and a table in a notebook has no others."""

    def as_dict(self) -> dict[str, Any]:
        """Return the answer as the JSON keys of its command."""
        raise NotImplementedError(type(self).__name__)

    def shown_rows(self) -> list[dict[str, Any]]:
        """Return the rows of the answer's table, each as its JSON keys."""
        rows: list[dict[str, Any]] = self.as_dict()[self.shown_key]
        return rows

    def first_rows(self, most: int) -> list[dict[str, Any]]:
        """Return the first rows of the answer's table."""
        return self.shown_rows()[:most]

    def to_frame(self) -> DataFrame:
        """Return the answer's table as a pandas data frame; what is not known is NaN or None."""
        frame: DataFrame = resolve_name("orderbook.reports.frames:frame_of")(self.shown_rows(), self.shown_columns)
        return frame

    def text(self, **how: Any) -> str:
        """Return the answer as its command prints it; `how` are flags of the command, such as `explain=True`."""
        text: str = resolve_name(self.shown_words)(self, **how)
        return text

    def __str__(self) -> str:
        """Read as the command prints it."""
        return self.text()

    def __repr__(self) -> str:
        """Show an interactive session what it is, and what the command prints."""
        return f"<{type(self).__name__}>\n{self.text()}"

    def _repr_html_(self) -> str:
        """Show a notebook a table, what to do next, and what should be known."""
        page: str = resolve_name("orderbook.reports.notebook:html_of")(self)
        return page


class Drawn(Shown):
    """An answer that can be drawn too."""

    __slots__ = ()

    shown_picture: ClassVar[str] = ""
    """The function that draws the answer on axes, `module:function`."""

    def plot(self, ax: Axes | None = None) -> Axes:
        """Draw the answer on matplotlib axes, on new ones where none are given, and return them."""
        if ax is None:
            from matplotlib import pyplot

            ax = pyplot.figure(layout="constrained").add_subplot()
        resolve_name(self.shown_picture)(self, ax)
        return ax

    def save_picture(self, path: str | Path) -> Path:
        """Draw the answer into a file (.png, .svg, .pdf) and return its path.

        Raises: OrderbookError(picture_format_not_known); OSError if the file cannot be written.
        """
        saved: Path = resolve_name("orderbook.reports.pictures:save_picture")(
            resolve_name(self.shown_picture), self, Path(path)
        )
        return saved
