"""The words that stand with every answer: life first, before everything else; who decides; what is not known."""

from onthree.evidence.contrast import evidence_hash
from onthree.techniques.library import library_hash

PLANNED = "Planned option; the team on scene may depart from it for the patient."
LIFE_FIRST = (
    "Life first: breathing, airway, bleeding, heat stroke, an agitated or seizing athlete, falling consciousness, "
    "a dangerous scene, or new pain or symptoms in mid-move come before any option here."
)
DEFER = "Local protocol, medical direction and the maker's manual come first. Nothing here is clinical advice."
NOT_KNOWN = (
    "Only the techniques in this version's library are considered. Evidence puts one option before another plane by "
    "plane, from a few published trials, and says nothing of this team; not judged: how far your own people move the "
    "head, and the hands at the hospital. Fit closes no option. Times, and how many people lift by load, are guesses "
    "without a source until your rehearsals replace them. No motion is ever called safe."
)
STANDING = (LIFE_FIRST, PLANNED, DEFER, NOT_KNOWN)


def rests_on() -> str:
    """Which techniques and evidence an answer rests on: the same two hashes, the same files."""
    return f"Rests on techniques {library_hash()} and evidence {evidence_hash()}."
