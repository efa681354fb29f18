"""Pieces of LibreOffice's configuration files (.xcu), as text."""

from __future__ import annotations

from xml.sax.saxutils import escape, quoteattr

HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'
SPACES = 'xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema"'


def prop(name: str, value: str, language: str | None = None) -> str:
    """Return one property; a text for people carries its language.

    >>> prop("Title", "A & B", "en")
    '<prop oor:name="Title"><value xml:lang="en">A &amp; B</value></prop>'
    """
    tongue = f" xml:lang={quoteattr(language)}" if language else ""
    return f"<prop oor:name={quoteattr(name)}><value{tongue}>{escape(value)}</value></prop>"


def node(name: str, inside: str, operation: str = "replace") -> str:
    """Return one node; an empty operation leaves it as it is there."""
    how = f" oor:op={quoteattr(operation)}" if operation else ""
    return f"<node oor:name={quoteattr(name)}{how}>{inside}</node>"


def configuration(name: str, inside: str) -> str:
    """Return a whole file."""
    return (
        f'{HEAD}<oor:component-data {SPACES} oor:name="{name}" oor:package="org.openoffice.Office">{inside}'
        "</oor:component-data>"
    )
