"""Which contrasts can put one option before another, and which cannot."""

from dataclasses import replace

from onthree.evidence.contrast import bundled_contrasts
from onthree.evidence.order import bundled_order, evidence_order
from onthree.techniques.library import Library, bundled_library
from onthree.transfers.evidence_used import COMPARED, NO_EVIDENCE, ORDERED, EvidenceUsed, why, worn_in_words


def used(*techniques: str) -> EvidenceUsed:
    library = bundled_library()
    some = tuple(library[each] for each in techniques) if techniques else library.techniques
    return EvidenceUsed(Library(some), bundled_order())


def test_only_kinds_that_options_here_use_drive_a_ranking() -> None:
    two = used("scoop_foot_end_first", "log_roll_supine_long_board")

    assert [(pair.lower, pair.higher) for pair in two.driving] == [("scoop", "log roll, supine")]
    assert used("scoop_foot_end_first").driving == ()


def test_a_contrast_that_found_no_difference_drives_nothing_and_is_said_beside() -> None:
    two = used("scoop_foot_end_first", "log_roll_supine_long_board")
    found_none = next(one for one in bundled_contrasts() if one.source == "delrossi-2010" and one.lower == "scoop")

    assert found_none.id not in two.driving_ids
    assert any(line.startswith("beside it") and "delrossi-2010" in line for line in why(two, two.driving[0]))


def test_what_was_found_with_equipment_on_holds_there_only() -> None:
    (pair,) = used("eight_person_lift_long_board", "lift_and_slide_long_board").driving

    assert worn_in_words(pair.worn) == "equipment on"
    assert worn_in_words(("on", "off", "not_known")) == "whatever is worn"


def test_a_kind_is_ordered_compared_or_without_evidence() -> None:
    of_kind = {each.kind: each.evidence for each in used().kinds}

    assert of_kind["scoop"] == ORDERED
    assert of_kind["equipment removal, flat torso"] == COMPARED
    assert of_kind["strapping"] == NO_EVIDENCE


def test_sources_that_disagree_stand_once_and_drive_nothing() -> None:
    (each,) = used().disagreements_of("equipment removal, flat torso")

    assert {each.one.kind, each.other.kind} == {"equipment removal, flat torso", "equipment removal, elevated torso"}
    assert not {one.id for one in (*each.for_one, *each.for_other)} & used().driving_ids


def test_techniques_that_options_do_not_use_drive_nothing() -> None:
    library = bundled_library()
    unranked = Library(tuple(replace(one, is_ranked=False) for one in library.techniques))

    assert EvidenceUsed(unranked, evidence_order(bundled_contrasts())).driving == ()
