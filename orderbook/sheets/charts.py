"""The charts of the book: native ones over the cells of Plots, so that they move when cells move."""

from __future__ import annotations

from typing import Any

from orderbook.records.definition import book_definition
from orderbook.sheets.look import color, font
from orderbook.xlsx.page import LaidTable, letters

CURVES = ("reference", "stage 1", "stage 2", "stage 3", "fitted")
_LINES = {
    "reference": ("ink", 1, "dash"), "stage 1": ("pale_steel", 1.5, "solid"), "stage 2": ("steel", 2.5, "solid"),
    "stage 3": ("steel", 1.25, "long_dash"), "fitted": ("rust", 1.5, "round_dot"),
}  # fmt: skip
# how a key in a cell draws a curve, and a stage in the chart of the belief
KEYS = {"reference": "- - -", "stage 1": "——", "stage 2": "━━", "stage 3": "— —", "fitted": "· · ·"}
MARKS = {"stage 1": "●", "stage 2": "◇", "stage 3": "□"}
BESIDE_KEYS = 278  # px of a chart that leaves the last column of the Bench to its keys
POINTS = 52
STROKES = 29
BELIEF_POINTS = 130
CATEGORIES = 9


def torque_chart(row: int, col: int) -> dict[str, Any]:
    """Return the torque of the springs to try against turns, with the working window hatched."""

    def add(workbook: Any, sheet: Any) -> None:
        chart = workbook.add_chart({"type": "scatter", "subtype": "straight", "name": "Torque"})
        _window(chart)
        for i, name in enumerate(CURVES):
            hue, width, dash = _LINES[name]
            letter = "EFGHI"[i]
            chart.add_series({
                "name": f"=Plots!${letter}$8", "categories": f"=Plots!$D$9:$D${8 + POINTS}",
                "values": f"=Plots!${letter}$9:${letter}${8 + POINTS}",
                "line": {"color": color(hue), "width": width, "dash_type": dash}, "marker": {"type": "none"},
            })  # fmt: skip
        chart.set_x_axis(axis("turns up from run down", low=0))
        chart.set_y_axis(axis("N·mm", low=0, form="#,##0", grid=True))
        chart.set_legend({"none": True})  # a native legend would name stages that are not there; see KEYS
        _frame(chart, {"x": 0.2, "y": 0.04, "width": 0.77, "height": 0.73}, BESIDE_KEYS, 172)
        sheet.insert_chart(row, col, chart, _place(
            "Torque at the barrel in N·mm against turns up from run down: the reference spring, stages 1 to 3 and the "
            "spring that was fitted. The hatched band is the working window. The numbers are on the sheet Plots."
        ))  # fmt: skip

    return {"add": add}


def _window(chart: Any) -> None:
    ends = f"$L$9:$L${8 + STROKES}", f"$M$9:$M${8 + STROKES}"
    for name, x, y, hue in (("window", *ends, "thread"), ("ends", "$O$9:$O$10", "$P$9:$P$10", "brass")):
        chart.add_series({
            "name": name, "categories": f"=Plots!{x}", "values": f"=Plots!{y}", "line": {"none": True},
            "marker": {"type": "none"},
            "y_error_bars": {"type": "percentage", "value": 100, "direction": "minus", "end_style": 0,
                             "line": {"color": color(hue), "width": 0.75}},
        })  # fmt: skip


def belief_chart(row: int, col: int) -> dict[str, Any]:
    """Return how probable each drive index is, with the drives of the stages as drops."""

    def add(workbook: Any, sheet: Any) -> None:
        chart = workbook.add_chart({"type": "scatter", "subtype": "straight", "name": "Belief"})
        chart.add_series({
            "name": "belief", "categories": f"=Plots!$R$9:$R${8 + BELIEF_POINTS}",
            "values": f"=Plots!$S$9:$S${8 + BELIEF_POINTS}", "line": {"color": color("steel"), "width": 2},
            "marker": {"type": "none"},
        })  # fmt: skip
        for n in range(3):
            at = 9 + n
            chart.add_series({
                "name": f"=Plots!${'FGH'[n]}$8",
                "categories": f"=Plots!$U${at}:$U${at}", "values": f"=Plots!$V${at}:$V${at}",
                "line": {"none": True},
                "marker": {"type": ("circle", "diamond", "square")[n], "size": 6, "border": {"color": color("steel")},
                           "fill": {"color": color("paper" if n else "pale_steel")}},
                "y_error_bars": {"type": "percentage", "value": 100, "direction": "minus", "end_style": 0,
                                 "line": {"color": color("pumice"), "width": 0.75, "dash_type": "dash"}},
            })  # fmt: skip
        chart.set_x_axis(axis("drive index the movement asks for"))
        chart.set_y_axis(axis("% a point", low=0, form="0.0", grid=True))
        chart.set_legend({"none": True})
        _frame(chart, {"x": 0.17, "y": 0.05, "width": 0.8, "height": 0.68}, BESIDE_KEYS, 170)
        sheet.insert_chart(row, col, chart, _place(
            "How probable each drive index is as what the movement asks for, in per cent a point, with stages 1 to 3 "
            "marked at their drive. The numbers are on the sheet Plots."))  # fmt: skip

    return {"add": add}


def cost_chart(row: int, col: int, height: int, plot_top: int, plot_height: int) -> dict[str, Any]:
    """Return the costs by category beside the table of the Account, a bar a row."""

    def add(workbook: Any, sheet: Any) -> None:
        chart = workbook.add_chart({"type": "bar", "subtype": "stacked", "name": "Against the estimate"})
        for letter, name, fill, edge, pattern in (
            ("Y", "paid, net", "steel", None, False), ("Z", "committed", "paper", "steel", True),
            ("AA", "left", "paper", "pumice", False), ("AB", "over", "rust", "paper", False),
        ):  # fmt: skip
            look = {"fill": {"color": color(fill)}}
            if pattern:
                look = {
                    "pattern": {
                        "pattern": "wide_upward_diagonal",
                        "fg_color": color("steel"),
                        "bg_color": color("paper"),
                    }
                }
            border = {"color": color(edge), "width": 0.75} if edge else {"none": True}
            last = 8 + CATEGORIES
            chart.add_series({"name": name, "categories": f"=Plots!$X$9:$X${last}", "gap": 45, "border": border,
                              "values": f"=Plots!${letter}$9:${letter}${last}", **look})  # fmt: skip
        chart.set_y_axis({**axis(None), "reverse": True, "major_tick_mark": "none"})
        chart.set_x_axis(axis(None, low=0, form="#,##0", grid=True))
        chart.set_legend({"position": "top", "font": font()})
        _frame(chart, {"x": 0.22, "y": plot_top / height, "width": 0.74, "height": plot_height / height}, 384, height)
        sheet.insert_chart(row, col, chart, _place(
            "Stacked bars by category in the book's currency: paid less credits, committed, left of the estimate, and "
            "over the estimate. The numbers are on the sheet Plots."))  # fmt: skip

    return {"add": add}


LEARNED_ROWS = 8  # groups that are drawn


def learned_chart(table: LaidTable) -> dict[str, Any]:
    """Return the need to be expected of each group's next piece, beside what the published pieces alone say."""

    def add(workbook: Any, sheet: Any) -> None:
        columns = [c.key for c in book_definition().tables[table.name].columns]

        def cells(key: str) -> str:
            col = letters(table.left + columns.index(key))
            return f"={table.name}!${col}${table.top + 2}:${col}${table.top + 1 + LEARNED_ROWS}"

        chart = workbook.add_chart({"type": "bar", "name": "What was learned"})
        for name, key, hue, bars in (
            ("need of the next piece, drive index; the line holds nine in ten", "need", "steel", {
                "type": "custom", "plus_values": cells("more"), "minus_values": cells("less"),
                "line": {"color": color("rust"), "width": 1.25},
            }),
            ("by the published pieces alone", "practice_need", "pale_steel", None),
        ):  # fmt: skip
            chart.add_series({
                "name": name, "categories": cells("movements"), "values": cells(key), "gap": 60,
                "fill": {"color": color(hue)}, "border": {"none": True}, **({"x_error_bars": bars} if bars else {}),
            })  # fmt: skip
        chart.set_y_axis({**axis(None), "reverse": True, "major_tick_mark": "none", "interval_unit": 1})
        chart.set_x_axis({**axis(None, low=0, grid=True), "max": 120})  # the lines go further than the bars
        chart.set_legend({"position": "bottom", "font": font()})
        _frame(chart, {"x": 0.36, "y": 0.09, "width": 0.6, "height": 0.78}, 700, 320)
        sheet.insert_chart(table.bottom + 2, table.left, chart, _place(
            "Bars by group of movements: the drive index the next piece is expected to need, with the range that holds "
            "nine in ten, and what the published pieces alone would say. The numbers are in the table above it."
        ))  # fmt: skip

    return {"add": add}


def _frame(chart: Any, plot: dict[str, float], width: int, height: int) -> None:
    chart.set_chartarea({"border": {"none": True}, "fill": {"none": True}})
    chart.set_plotarea({"fill": {"none": True}, "layout": plot})
    chart.show_blanks_as("gap")
    chart.show_na_as_empty_cell()
    chart.show_hidden_data()  # the numbers stand on a sheet that is hidden
    chart.set_size({"width": width, "height": height})


def _place(words: str) -> dict[str, Any]:
    return {"x_offset": 4, "y_offset": 2, "object_position": 1, "description": words}


def axis(name: str | None, *, low: float | None = None, form: str = "0", grid: bool = False) -> dict[str, Any]:
    """Return how an axis looks: thin, in small type, with a light grid where asked."""
    return {
        "name": name, "min": low, "num_format": form, "name_font": font(), "num_font": font(),
        "line": {"color": color("pumice"), "width": 0.75},
        "major_gridlines": {"visible": grid, "line": {"color": color("hair"), "width": 0.5}},
        "major_tick_mark": "outside", "minor_tick_mark": "none",
    }  # fmt: skip
