"""How the command line spells an input or a verb that a text names: as a flag, or as the command to run."""

from __future__ import annotations

OF_A_BOOK = ("check", "next", "order", "trial", "refresh", "record", "ledger", "export", "import")


def in_flags(name: str, example: str) -> str:
    """Spell a mark as the command line does.

    >>> in_flags("chain_height", "1.2"), in_flags("hours", "'8 days'"), in_flags("!check", "fix")
    ('--chain-height 1.2', '--hours "8 days"', 'orderbook check BOOK --fix')
    >>> in_flags("!help", "size"), in_flags("!addin", "calc")
    ('orderbook size --help', 'orderbook addin calc --install')
    """
    if not name.startswith("!"):
        return f"--{name.replace('_', '-')} {example.replace(chr(39), chr(34))}".rstrip()
    verb = name[1:]
    if verb == "help":
        return f"orderbook {example} --help".replace("  ", " ")
    if verb == "addin":
        return f"orderbook addin {example}" + (" --install" if example == "calc" else "")
    flags = "".join(f" --{word}" for word in example.split())
    return f"orderbook {verb}{' BOOK' if verb in OF_A_BOOK else ''}{flags}"
