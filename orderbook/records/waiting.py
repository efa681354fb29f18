"""What waits for what: needs that depend on needs, and the circles that can never begin."""

from __future__ import annotations

from collections.abc import Mapping
from graphlib import CycleError, TopologicalSorter

from orderbook.records.books import Books
from orderbook.records.index import index
from orderbook.records.tables import Need

SETTLED = frozenset({"done", "withdrawn"})


def waits_for(books: Books, need: Need) -> tuple[str, ...]:
    """Return the needs a need still waits for; one that is done or withdrawn holds nothing up."""
    needs = index(books).needs
    return tuple(name for name in need.depends_on if name not in needs or needs[name].state not in SETTLED)


def in_order(books: Books) -> tuple[str, ...]:
    """Return every need after those it depends on; circles are opened at an arbitrary place."""
    graph = dependencies(books)
    for circle in circles(graph):
        graph = {name: after - set(circle) if name in circle else after for name, after in graph.items()}
    return tuple(name for name in TopologicalSorter(graph).static_order() if name in graph)


def dependencies(books: Books) -> dict[str, set[str]]:
    """Return which needs each need depends on, as typed."""
    return {need.need: set(need.depends_on) for need in books.needs if need.need}


def circles(graph: Mapping[str, set[str]]) -> tuple[tuple[str, ...], ...]:
    """Return the circles of a dependency graph, each once, as a way round that ends before it repeats.

    >>> circles({"N-0001": {"N-0002"}, "N-0002": {"N-0001"}, "N-0003": {"N-0001"}})
    (('N-0001', 'N-0002'),)
    """
    left = {name: set(after) for name, after in graph.items()}
    found = []
    while True:
        try:
            TopologicalSorter(left).prepare()
        except CycleError as problem:
            way = problem.args[1][:-1]
            start = way.index(min(way))
            found.append(tuple(way[start:] + way[:start]))
            left = {name: after - set(way) if name in way else after for name, after in left.items()}
        else:
            return tuple(sorted(found))
