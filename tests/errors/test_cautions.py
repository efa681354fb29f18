"""Which words bring up which caution, and which do not."""

import pytest

from orderbook.cautions import cautions_for


def names(text: str) -> set[str]:
    return {c.name for c in cautions_for(text)}


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("two mainsprings", "wound_spring"),
        ("springs for both barrels", "wound_spring"),
        ("hands to be gilded", "salts"),
        ("Silvered chapter ring", "salts"),
        ("nickel-plated case", "salts"),
        ("re-plating of the case", "salts"),
        ("acids", "acids"),
        ("hydrochloric, diluted", "acids"),
        ("pickled after soldering", "acids"),
        ("ammoniated cleaner", "solvents"),
        ("white spirit rinse", "solvents"),
        ("degrease the plates", "solvents"),
        ("degreasing", "solvents"),
        ("Ultrasonic tank", "solvents"),
        ("acetone", "solvents"),
        ("organic solvents", "solvents"),
        ("lacquered dial", "solvents"),
        ("click spring tempered blue", "heat"),
        ("hardened and tempered", "heat"),
        ("soldered repair", "heat"),
        ("blued screws", "heat"),
        ("fire-gilt case", "mercury"),
        ("shortened to length", "cutting"),
    ],
)
def test_words_and_their_inflections_bring_a_caution_up(text: str, name: str) -> None:
    assert name in names(text)


@pytest.mark.parametrize(
    "text",
    [
        "front plate: rebush",
        "plates cleaned by hand",
        "temperature of the room",
        "template for the dial",
        "silver hands",
        "placid movement",
        "new dial feet",
        "blueprint of the case",
        "offspring",
    ],
)
def test_other_words_do_not(text: str) -> None:
    assert names(text) == set()
