"""The words that stand with every answer: life first, before everything else; who decides; what is not known."""

PLANNED = "Planned option; the team on scene may depart from it for the patient."
LIFE_FIRST = (
    "Life first: breathing, bleeding, heat stroke, falling consciousness or a dangerous scene "
    "come before any option here."
)
DEFER = "Local protocol, medical direction and the maker's manual come first. Nothing here is clinical advice."
NOT_KNOWN = (
    "Only the techniques in this version's library are considered. Not judged yet: how far each technique moves the "
    "head, how long it takes, and the hands at the hospital. Fit closes no option. "
    "How many people lift, by load, is a guess without a source until your rehearsals replace it. "
    "No motion is ever called safe."
)
STANDING = (LIFE_FIRST, PLANNED, DEFER, NOT_KNOWN)
