"""The day a command counts as: today unless said."""

from __future__ import annotations

from datetime import date

import click


def a_day(ctx: click.Context, param: click.Parameter, value: str | None) -> date | None:
    """Read a day such as 2026-03-04; nothing where none is given."""
    if value is None:
        return None
    try:
        return date.fromisoformat(value.strip())
    except ValueError:
        raise click.BadParameter(f"{value!r} is not a date such as 2026-03-04.", ctx, param) from None


def _day(ctx: click.Context, param: click.Parameter, value: str | None) -> date:
    return a_day(ctx, param, value) or date.today()


on = click.option(
    "--on", metavar="DATE", callback=_day, help="The day it happened, such as 2026-03-04; today if left out."
)
