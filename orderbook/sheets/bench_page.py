"""The Bench: pick a barrel and see what was measured, which spring belongs, what to try, and what to do next."""

from __future__ import annotations

from typing import Any

from orderbook.mechanics.closed_rule import FITTED_DRIVE, WITHIN
from orderbook.records.definition import BookDefinition
from orderbook.sheets.charts import CURVES, KEYS, MARKS, POINTS, belief_chart, torque_chart
from orderbook.sheets.look import look_definition
from orderbook.sheets.lookups import day, found, placed, shown
from orderbook.xlsx.formulas import column_of, plus_minus
from orderbook.xlsx.marks import LISTS_NOW
from orderbook.xlsx.page import Formula, Look, Page, band

PICK = "$D$1"
WIDTHS = [8, 42, 98, 80, 54, 56, 52, 56, 46, 50, 50, 42, 44, 54, 58, 42, 104, 116, 62, 136]
LAST = len(WIDTHS) - 1  # column T
RIGHT = 16  # first column of the charts
TOP, LINES = 4, 10
ORDER, STAGES = TOP + LINES + 1, 3
CAUTIONS, FINDINGS = ORDER + STAGES + 3, 4
ALSO, ALSO_LINES = CAUTIONS + FINDINGS + 2, 8
PENCIL, PENCIL_LINES = ALSO + ALSO_LINES + 2, 7
LONGEST, LONGEST_WHY = 158, 74  # letters of a finding, and of a reason, that the line holds
STALE_FLAG = f"${chr(65 + RIGHT)}${ORDER + 1}"
FRESH = "made"
HEIGHTS = [26, 25, 5, 20, *[17] * LINES, 5, 20, 30, *[18] * STAGES, 5, 20, *[17] * FINDINGS, 5, 20, *[15] * ALSO_LINES,
           14, 20, 16, *[28] * (PENCIL_LINES - 1)]  # fmt: skip
COLUMNS: tuple[tuple[str, str, str, str], ...] = (
    ("number", "#", "whole", "center"),
    ("supplier", "Supplier", "", "left"),
    ("item", "Item", "", "left"),
    ("width_mm", "Width\nmm", "mm", "right"),
    ("strength_mm", "Strength\nmm", "strength", "right"),
    ("length_mm", "Length\nmm", "length", "right"),
    ("trim_to_mm", "Trim to\nmm", "length", "right"),
    ("drive_index", "Drive\nindex", "index", "right"),
    ("drive_index_pm", "±", "index_pm", "left"),
    ("load_index", "Load\nindex", "index", "right"),
    ("load_index_pm", "±", "index_pm", "left"),
    ("step_percent", "Step\n%", "step", "right"),
    ("chance_percent", "Chance\n%", "chance", "right"),
    ("price", "Price\na pack", "money", "right"),
    ("currency", "Cur.", "", "left"),
)


def bench_page(book: BookDefinition, barrel: str) -> Page:
    """Lay out the Bench for one barrel; another is picked in its cell D1."""
    page = Page("Bench", widths=list(WIDTHS), heights=list(HEIGHTS), freeze=(3, 0))
    page.area = (0, 0, len(HEIGHTS) - 1, LAST)
    _title(page, book, barrel)
    _measured(page, book)
    _belongs(page, book)
    _order(page, book)
    _findings(page, book)
    _also(page, book)
    _pencil(page)
    _keys(page)
    _highlights(page)
    page.charts += [torque_chart(TOP, RIGHT), belief_chart(PENCIL + 1, RIGHT)]
    return page


def _title(page: Page, book: BookDefinition, barrel: str) -> None:
    page.put(0, 1, "Bench", Look("title"))
    page.put(0, 3, barrel, Look("input", format="picker", align="center", bold=True))
    page.drop_downs.append({"range": (0, 3, 0, 3), "list": "barrels", "title": "Barrel", "show_help": True,
                            "help": "Pick a barrel; everything below follows."})  # fmt: skip
    piece = found(book, "Restorations", "piece", found(book, "Barrels", "restoration", PICK))
    train = found(book, "Barrels", "train", PICK)
    page.put(0, 4, Formula(f'=IFERROR({piece}&" · "&{train}&" train","pick a barrel in the box to the left")'),
             Look("piece", indent=1))  # fmt: skip
    page.put(1, 1, "Next", Look("next_tag"))
    page.fill(1, range(2, LAST + 1), Look("next"))
    stored = found(book, "Answers", "next", PICK)
    fresh = f'LEFT({STALE_FLAG},4)="{FRESH}"'
    page.put(1, 2, Formula(f"=IFERROR(IF({fresh},{stored},{STALE_FLAG}),{STALE_FLAG})"), Look("next", indent=1))


def _measured(page: Page, book: BookDefinition) -> None:
    band(page, TOP - 1, 1, 6, "What was measured", {5: "× times read"})
    band(page, TOP - 1, RIGHT, LAST, " Torque at the barrel", {RIGHT + 2: "hatched: working window"})
    lines: list[tuple[str, Formula, str, Formula | None, str, str]] = [
        (label, shown(found(book, "Barrels", f"{label}_mm", PICK), "not read"), "mm",
         shown(found(book, "Barrels", f"{label}_pm_mm", PICK)), "mm", label)
        for label in ("bore", "arbor", "depth")
    ]  # fmt: skip
    lines += [
        (label, shown(found(book, "Barrels", key, PICK), "–"), unit, None, unit, "")
        for label, key, unit in (("turns asked", "turns_asked", "turns"), ("turns used", "turns_used", "turns"),
                                 ("set-up found", "set_up_clicks", "clicks"))
    ]  # fmt: skip
    for label, what, form in (("width", "fitted width", "mm"), ("strength", "fitted strength", "strength"),
                              ("length", "fitted length", "length")):  # fmt: skip
        lines.append((f"spring fitted: {label}", _mean(book, what), form, _spread(book, what), "mm", what))
    for row, (label, value, form, pm, unit, what) in enumerate(lines, TOP):
        page.put(row, 1, label, Look("label"))
        page.fill(row, (2,), Look("label"))
        page.put(row, 3, value, Look("answer", format=form, align="right"))
        page.put(row, 4, pm, Look("plus_minus", format=_pm(form)))
        page.put(row, 5, unit, Look("unit"))
        page.put(row, 6, _times(book, what) if what else None, Look("unit", format="times", align="right", indent=1))


def _pm(form: str) -> str:
    return f"{form}_pm" if f"{form}_pm" in look_definition()["formats"] else "index_pm"


def _mean(book: BookDefinition, what: str) -> Formula:
    readings = book.tables["Readings"]
    where = f'{column_of(readings, "barrel")},{PICK},{column_of(readings, "what")},"{what}"'
    return Formula(f'=IFERROR(AVERAGEIFS({column_of(readings, "in_mm")},{where}),"–")')


def _spread(book: BookDefinition, what: str) -> Formula:
    return Formula("=" + plus_minus(what, PICK, book))


def _times(book: BookDefinition, what: str) -> Formula:
    readings = book.tables["Readings"]
    return Formula(f'=COUNTIFS({column_of(readings, "barrel")},{PICK},{column_of(readings, "what")},"{what}")')


def _belongs(page: Page, book: BookDefinition) -> None:
    band(page, TOP - 1, 7, 15, " The spring that belongs", {13: "± in the unit beside"})
    for row, (label, value, form, pm, unit, why) in enumerate(_belonging(book), TOP):
        page.put(row, 7, label, Look("label", indent=1, left="hair"))
        page.fill(row, (8,), Look("label"))
        page.put(row, 9, value, Look("answer", format=form, align="right"))
        page.put(row, 10, pm, Look("plus_minus", format=_pm(form)))
        page.put(row, 11, unit, Look("unit"))
        page.put(row, 12, why, Look("reason"))
        page.fill(row, range(13, 16), Look("reason"))


def _belonging(book: BookDefinition) -> list[tuple[str, Any, str, Any, str, Any]]:
    def native(key: str) -> Formula:
        return shown(found(book, "Barrels", key, PICK), "–")

    def pm(key: str) -> Formula:
        return shown(found(book, "Barrels", key, PICK))

    def stored(key: str) -> Formula:
        return shown(found(book, "Answers", key, PICK), "–")

    turns, fill = found(book, "Barrels", "turns_taken", PICK), found(book, "Barrels", "fill_taken", PICK)
    depth, width = found(book, "Barrels", "depth_mm", PICK), found(book, "Barrels", "width_mm", PICK)
    low, high = found(book, "Answers", "strength_low_mm", PICK), found(book, "Answers", "strength_high_mm", PICK)
    need_low, need_high = found(book, "Answers", "need_low", PICK), found(book, "Answers", "need_high", PICK)
    slack, slack_pm = found(book, "Answers", "slack_turns", PICK), found(book, "Answers", "slack_pm_turns", PICK)
    evenness = found(book, "Answers", "evenness", PICK)
    asked = found(book, "Barrels", "turns_asked", PICK)
    strength_pm = found(book, "Answers", "strength_pm_mm", PICK)
    return [
        ("width", native("width_mm"), "mm", pm("depth_pm_mm"), "mm",
         Formula(f'=IFERROR("depth less "&FIXED({depth}-{width},2),"")')),
        ("strength", native("strength_mm"), "strength", pm("strength_pm_mm"), "mm",
         Formula(f'=IF(ISNUMBER({found(book, "Barrels", "strength_mm", PICK)}),'
                 f'"as makers fitted: drive {100 * FITTED_DRIVE:.0f} %","needs bore, arbor, turns used")')),
        ("length", native("length_mm"), "length", pm("length_pm_mm"), "mm",
         Formula(f'=IFERROR("fills "&FIXED({fill},2)&" of the free floor","")')),
        ("turns", native("turns"), "turns", None, "turns",
         Formula(f'=IFERROR("slack "&FIXED({slack},1)&" ± "&FIXED({slack_pm},1)&" of them","run down to wound")')),
        ("with all known", stored("strength_mm"), "strength", shown(strength_pm), "mm",
         Formula(f'=IFERROR("useful "&FIXED({low},3)&" to "&FIXED({high},3),"strength; needs refresh")')),
        ("set-up", stored("set_up_clicks"), "clicks", None, "clicks",
         Formula(f'=IFERROR(IF({evenness}="","","evens the fusee to "&FIXED({evenness},2)),"")')),
        ("need: drive", stored("need"), "index", None, "index",
         Formula(f'=IFERROR("9 in 10: "&FIXED({need_low},0)&" to "&FIXED({need_high},0),"")')),
        ("chance of a fit", stored("chance_of_a_fit"), "chance", None, "%", "among the stages below"),
        ("strongest useful", native("strongest_mm"), "strength", None, "mm",
         f"closed rule, within {100 * WITHIN:.0f} %; no stronger"),
        ("limit of turns", native("strength_most_mm"), "strength", pm("strength_most_pm_mm"), "mm",
         Formula(f'=IFERROR("most that gives "&FIXED({turns},1)&IF({asked}="",", used + 1.5",""),"")')),
    ]  # fmt: skip


def _order(page: Page, book: BookDefinition) -> None:
    band(page, ORDER, 1, LAST, "Try in this order", {4: "weakest first; stop at the first that runs well"})
    page.put(ORDER, RIGHT, _flag(book), Look("block_note", indent=1))
    for col, (_, head, _, align) in enumerate(COLUMNS, 1):
        page.put(ORDER + 1, col, "Stage" if head == "#" else head, Look("head", align=align, indent=_indent(head)))
    page.put(ORDER + 1, RIGHT, "Why", Look("head", align="left", indent=1))
    page.fill(ORDER + 1, range(RIGHT + 1, LAST + 1), Look("head"))
    for number in range(1, STAGES + 1):
        row = ORDER + 1 + number
        _spring_row(page, book, "Stages", "stage", row, number, "row")
        why = _cut(placed(book, "Stages", "why", PICK, number), LONGEST_WHY, "; ", 0)
        page.put(row, RIGHT, why, Look("minor_row", align="left", indent=1))
        page.fill(row, range(RIGHT + 1, LAST + 1), Look("minor_row"))


def _flag(book: BookDefinition) -> Formula:
    """Say whether the stored answers are made from what the book holds now, of this barrel and of all."""
    kept, now = found(book, "Answers", "kept_inputs", PICK), found(book, "Barrels", "inputs_now", PICK)
    lists = found(book, "Answers", "kept_lists", PICK)
    made = day(found(book, "Answers", "made_on", PICK))
    state = found(book, "Restorations", "state", found(book, "Barrels", "restoration", PICK))
    return Formula(
        f'=IF({PICK}="","pick a barrel",IF(ISNA(MATCH({PICK},{column_of(book.tables["Barrels"], "barrel")},0)),'
        f'"NO SUCH BARREL: pick one in the box at the top",IF(ISNA(MATCH({PICK},'
        f'{column_of(book.tables["Answers"], "barrel")},0)),"NO ANSWERS YET: run orderbook refresh",'
        f'IFERROR(IF({kept}<>{now},"READINGS OR TRIALS CHANGED since "&{made}&": refresh",'
        f'IF(AND({lists}<>{LISTS_NOW},{state}<>"closed"),'
        f'"LISTS OR TERMS CHANGED since "&{made}&": refresh","{FRESH} "&{made}&": up to date")),'
        f'"READINGS OR TRIALS CHANGED: refresh"))))'
    )


def _spring_row(
    page: Page, book: BookDefinition, table: str, number_key: str, row: int, number: int, style: str
) -> None:
    for col, (key, head, form, align) in enumerate(COLUMNS, 1):
        value = placed(book, table, number_key if key == "number" else key, PICK, number)
        look = "plus_minus" if form.endswith("_pm") else style
        narrow = key in ("supplier", "item")
        page.put(row, col, value, Look(look, format=form, align=align, indent=_indent(head), shrink=narrow))


def _indent(head: str) -> int:
    return int(head == "Cur.")


def _findings(page: Page, book: BookDefinition) -> None:
    band(page, CAUTIONS, 1, LAST, "Cautions and findings")
    for number in range(1, FINDINGS + 1):
        row = CAUTIONS + number
        page.fill(row, range(1, LAST + 1), Look("row"))
        if number == 1:
            caution = "A wound spring can injure hand and eye. Let the train down fully before the barrel is opened."
            for col, words in ((1, "Caution"), (3, "barrel"), (4, caution)):
                page.put(row, col, words, Look("row", bold=col == 1))
            continue
        for col, key in ((1, "severity"), (3, "where"), (4, "words")):
            value = placed(book, "Findings", key, PICK, number - 1)
            page.put(
                row,
                col,
                _cut(value, LONGEST, ". ", 1) if key == "words" else value,
                Look("row", bold=col == 1, shrink=key == "where"),
            )


def _cut(words: Formula, most: int, mark: str, kept: int) -> Formula:
    """Return a formula that shows what fits on the line, cut after the last whole part if there is one.

    Parts end with `mark`, of which `kept` letters stay. The whole of the words stands on the sheet Answers.
    """
    text = words.text.removeprefix("=")
    fits = f"LEFT({text},{most})"
    parts = f'(LEN({fits})-LEN(SUBSTITUTE({fits},"{mark}","")))/{len(mark)}'
    end = f'FIND("~",SUBSTITUTE({fits},"{mark}","~",{parts}))+{kept - 1}'
    return Formula(f'=IF(LEN({text})>{most},IFERROR(LEFT({text},{end}),LEFT({text},{most - 2}))&" …",{text})')


def _also(page: Page, book: BookDefinition) -> None:
    band(page, ALSO, 1, 15, "Also fits", {3: "in order; columns as above"})
    band(page, ALSO, RIGHT, LAST, " Does not go in", {RIGHT + 2: "what stops it"})
    for number in range(1, ALSO_LINES + 1):
        _spring_row(page, book, "AlsoFits", "rank", ALSO + number, number, "minor_row")
    for number in range(1, ALSO_LINES + 1):
        for col, key in enumerate(("item", "spring", "measure", "by"), RIGHT):
            look = Look("minor_row", align="left", indent=int(col == RIGHT), shrink=True)
            page.put(ALSO + number, col, placed(book, "DoesNotGoIn", key, PICK, number), look)


def _pencil(page: Page) -> None:
    band(page, PENCIL, 1, 15, "In pencil at the bench", {4: "type it into Trials and Readings afterwards"})
    band(page, PENCIL, RIGHT, LAST, " What the movement asks for", {RIGHT + 3: "marks: the stages"})
    heads = {1: "Stage", 2: "Date", 3: "Clicks of set-up", 5: "Rod: grams", 7: "at arm, mm", 9: "Ran for, days",
             11: "Verdict", 13: "What was seen"}  # fmt: skip
    for col in range(1, 16):
        page.put(PENCIL + 1, col, heads.get(col), Look("unit"))
        for row in range(PENCIL + 2, PENCIL + 1 + PENCIL_LINES):
            page.put(row, col, None, Look("row"))


def _keys(page: Page) -> None:
    """Name the curves and the marks of the charts beside them: those of stages that are there, and no others."""
    for n, name in enumerate(CURVES):
        there = f"COUNT(Plots!${'EFGHI'[n]}$9:${'EFGHI'[n]}${8 + POINTS})>0"
        hue = {"reference": "key_ink", "stage 1": "key_pale", "fitted": "key_rust"}.get(name, "key")
        page.put(TOP + 1 + n, LAST, Formula(f'=IF({there},"{KEYS[name]}  {name}","")'), Look(hue, indent=1))
        if name in MARKS:
            place = PENCIL + 1 + n, LAST
            page.put(*place, Formula(f'=IF({there},"{MARKS[name]}  {name}","")'), Look(hue, indent=1))


def _highlights(page: Page) -> None:
    stale = f'LEFT({STALE_FLAG},4)<>"{FRESH}"'
    empty = f'{STALE_FLAG}="pick a barrel"'
    page.highlights += [
        {"range": (ORDER, RIGHT, ORDER, LAST), "test": f"AND({stale},NOT({empty}))", "look": "trouble"},
        {"range": (1, 2, 1, LAST), "test": f"AND({stale},NOT({empty}))", "look": "trouble"},
        {"range": (TOP + 4, 9, TOP + 7, 15), "test": stale, "look": "stale", "stop": True},
        {"range": (ORDER + 2, 1, ORDER + 1 + STAGES, LAST), "test": stale, "look": "stale", "stop": True},
        {"range": (CAUTIONS + 2, 1, CAUTIONS + FINDINGS, LAST), "test": stale, "look": "stale", "stop": True},
        {"range": (ALSO + 1, 1, ALSO + ALSO_LINES, LAST), "test": stale, "look": "stale", "stop": True},
        {"range": (CAUTIONS + 2, 1, CAUTIONS + FINDINGS, LAST), "test": f'$B{CAUTIONS + 3}="Stop"', "look": "trouble"},
        {"range": (ORDER + 2, 1, ORDER + 1 + STAGES, LAST), "test": f"$B{ORDER + 3}=Plots!$B$5", "look": "next"},
    ]
