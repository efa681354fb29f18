"""The need learned from one's own closed barrels, and from other benches' pieces.

A closed barrel says between which springs the need of its movement lay; pieces of one kind together say where the need
of the next one of that kind is to be looked for.
"""
