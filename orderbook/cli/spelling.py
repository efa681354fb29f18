"""How the command line spells an input or a verb that a text names: as a flag, or as the command to run."""

from __future__ import annotations

from orderbook.errors import is_identifier, words_of

OF_A_BOOK = ("check", "next", "order", "trial", "refresh", "record", "ledger", "export", "import")
BY_PLACE = {"lists": "FILE", "springs": "SPRING"}  # inputs that have no flag


def in_flags(name: str, example: str) -> str:
    """Spell a mark as the command line does.

    >>> in_flags("chain_height", "1.2"), in_flags("hours", "'8 days'"), in_flags("!check", "fix")
    ('--chain-height 1.2', '--hours "8 days"', 'orderbook check BOOK --fix')
    >>> in_flags("!help", "size"), in_flags("!addin", "calc"), in_flags("lists", "")
    ('orderbook size --help', 'orderbook addin calc --install', 'FILE')
    >>> in_flags("!order", "R-007 O-0005 mark=ordered")
    'orderbook order BOOK R-007 O-0005 --mark ordered'
    >>> in_flags("!order", "to='Supplier North' mark=ordered")
    'orderbook order BOOK --to "Supplier North" --mark ordered'
    """
    if not name.startswith("!"):
        name = BY_PLACE.get(name, name)
        if name.isupper():
            return f"{name} {example}".rstrip()
        return f"--{name.replace('_', '-')} {example.replace(chr(39), chr(34))}".rstrip()
    verb = name[1:]
    if verb == "help":
        return f"orderbook {example} --help".replace("  ", " ")
    if verb == "addin":
        return f"orderbook addin {example}" + (" --install" if example == "calc" else "")
    flags = "".join(f" {word}" if is_identifier(word) else f" {_flag(word)}" for word in words_of(example))
    return f"orderbook {verb}{' BOOK' if verb in OF_A_BOOK else ''}{flags}"


def _flag(word: str) -> str:
    name, is_given, value = word.partition("=")
    shown = f'"{value}"' if " " in value else value
    return f"--{name} {shown}" if is_given else f"--{name}"
