"""Who may do what: one table of roles and rights."""

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType


class Right(StrEnum):
    """Something that a role may do; the text completes "may ..."."""

    READ = "see the plan, the sentences and the findings"
    SIZES = "see what athletes weigh and measure"
    ANSWER = "answer at a time-out and say who was told"
    RECORD = "record rehearsals and gear checks"
    EDIT = "change records and import workbooks"
    SIGN = "sign a known gap or a medical order in their own name"
    ACCOUNTS = "invite visitors and look after accounts"


class Role(StrEnum):
    """What somebody is to the programme."""

    LEAD = "lead"
    MEDICAL_DIRECTION = "medical direction"
    EDITOR = "editor"
    RESPONDER = "responder"
    READER = "reader"
    AMBULANCE_PARTNER = "ambulance partner"
    VISITOR = "visitor"


RIGHTS: Mapping[Role, frozenset[Right]] = MappingProxyType(
    {
        Role.LEAD: frozenset(Right) - {Right.SIGN},
        Role.MEDICAL_DIRECTION: frozenset({Right.READ, Right.SIZES, Right.ANSWER, Right.RECORD, Right.SIGN}),
        Role.EDITOR: frozenset({Right.READ, Right.SIZES, Right.ANSWER, Right.RECORD, Right.EDIT}),
        Role.RESPONDER: frozenset({Right.READ, Right.SIZES, Right.ANSWER, Right.RECORD}),
        Role.READER: frozenset({Right.READ}),
        Role.AMBULANCE_PARTNER: frozenset({Right.READ, Right.ANSWER}),
        Role.VISITOR: frozenset(),  # a signed link opens one request of one event, and nothing else
    }
)
"""Role to its rights. Only medical direction signs; the lead records what was signed on paper, with who signed."""

ACCOUNT_ROLES: tuple[Role, ...] = tuple(role for role in Role if role is not Role.VISITOR)
"""The roles an account may have: a visitor has none."""


def may(role: Role, right: Right) -> bool:
    """Whether a role has a right."""
    return right in RIGHTS[role]


def who_may(right: Right) -> tuple[Role, ...]:
    """The roles that have a right."""
    return tuple(role for role in Role if may(role, right))


def read_role(text: str) -> Role:
    """A role as typed, hyphens for blanks. Raises ValueError that names the roles of accounts."""
    typed = text.strip().lower().replace("-", " ")
    if typed not in ACCOUNT_ROLES:
        known = ", ".join(role.replace(" ", "-") for role in ACCOUNT_ROLES)
        raise ValueError(f"role {text!r} given, expected one of: {known}")
    return Role(typed)
