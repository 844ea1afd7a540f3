"""The words that stand with every answer."""

from onthree.techniques.life_first import life_first_pages
from onthree.transfers.standing import LIFE_FIRST

SAID = {
    "arrest": "breathing",
    "airway": "airway",
    "bleeding": "bleeding",
    "heat_stroke": "heat stroke",
    "agitated_or_seizing": "agitated or seizing",
    "falling_consciousness": "falling consciousness",
    "dangerous_scene": "dangerous scene",
    "mid_move": "in mid-move",
}


def test_life_first_names_what_every_page_is_about() -> None:
    assert {page.id for page in life_first_pages()} == set(SAID)
    assert [words for words in SAID.values() if words not in LIFE_FIRST] == []
