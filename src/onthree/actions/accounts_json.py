"""People and keys as plain data for JSON."""

from typing import Any

from onthree.actions.accounts import Person, Token

SCHEMA_VERSION = 1


def people(listed: tuple[Person, ...]) -> dict[str, Any]:
    """Everybody who may sign in."""
    rows = [
        {
            "name": one.name,
            "role": one.role,
            "organisation": one.organisation or None,
            "signed_in_on": one.signed_in_on.isoformat() if one.signed_in_on else None,
        }
        for one in listed
    ]
    return {"schema_version": SCHEMA_VERSION, "kind": "people", "people": rows}


def tokens(listed: tuple[Token, ...]) -> dict[str, Any]:
    """Every key, never the key itself."""
    rows = [
        {
            "name": one.name,
            "person": one.person,
            "made_on": one.made_on.isoformat(),
            "used_on": one.used_on.isoformat() if one.used_on else None,
        }
        for one in listed
    ]
    return {"schema_version": SCHEMA_VERSION, "kind": "tokens", "tokens": rows}
