"""The day a command counts as: today unless said."""

from __future__ import annotations

from datetime import date

import click


def _day(ctx: click.Context, param: click.Parameter, value: str | None) -> date:
    if value is None:
        return date.today()
    try:
        return date.fromisoformat(value.strip())
    except ValueError:
        raise click.BadParameter(f"{value!r} is not a date such as 2026-03-04.", ctx, param) from None


on = click.option(
    "--on", metavar="DATE", callback=_day, help="The day it happened, such as 2026-03-04; today if left out."
)
