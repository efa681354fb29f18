"""The account of lists that were read in pieces: rows added up, each finding told once."""

from __future__ import annotations

from collections.abc import Sequence

from orderbook.catalogue.springs import Catalogue, CatalogueReading
from orderbook.errors import Finding, finding


def together(pieces: Sequence[CatalogueReading]) -> CatalogueReading:
    """Put readings together: springs and rejects one after the other, rows added up, columns and findings once.

    >>> together([]).counts()
    {'rows_in': 0, 'rows_kept': 0, 'rows_rejected': 0, 'rows_duplicate': 0}
    """
    return CatalogueReading(
        catalogue=Catalogue.concat([piece.catalogue for piece in pieces]),
        rejects=tuple(reject for piece in pieces for reject in piece.rejects),
        columns=tuple(dict.fromkeys(column for piece in pieces for column in piece.columns)),
        rows_in=sum(piece.rows_in for piece in pieces),
        rows_kept=sum(piece.rows_kept for piece in pieces),
        rows_rejected=sum(piece.rows_rejected for piece in pieces),
        rows_duplicate=sum(piece.rows_duplicate for piece in pieces),
        findings=_findings(pieces),
        shown=tuple(shown for piece in pieces for shown in piece.shown),
    )


def _findings(pieces: Sequence[CatalogueReading]) -> tuple[Finding, ...]:
    """Each finding once, with the number of further pieces it was made in; that nothing was kept, of the whole."""
    met: dict[tuple[str, str], list[Finding]] = {}
    for one in (found for piece in pieces for found in piece.findings if found.code != "no_row_kept"):
        met.setdefault((one.code, one.where), []).append(one)
    told = [same[0] if len(same) == 1 else _of_several(same) for same in met.values()]
    if pieces and not any(piece.rows_kept for piece in pieces):
        rejected = sum(piece.rows_rejected for piece in pieces)
        told.append(finding("no_row_kept", where="catalogue", saw=f"{rejected} rows, none of them a spring"))
    return tuple(told)


def _of_several(same: Sequence[Finding]) -> Finding:
    first, further = same[0], len(same) - 1
    more = f"; and so in {further} further {'piece' if further == 1 else 'pieces'} of the list"
    return finding(first.code, where=first.where, saw=first.saw + more)
