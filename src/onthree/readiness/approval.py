"""What medical direction signed: the order in force about a page, a technique or a standing order, and its words."""

from datetime import date

from onthree.programme.programme import Programme
from onthree.programme.records import MedicalOrder

NOT_APPROVED = "not approved by medical direction: a sourced default"


def approval(programme: Programme, about: str, on: date) -> MedicalOrder | None:
    """The order about this that holds on a day, the latest signed where there are several; None where there is none."""
    in_force = [
        order
        for order in programme.medical_orders.values()
        if order.about == about and order.signed_on <= on and (order.until is None or on <= order.until)
    ]
    return max(in_force, key=lambda order: (order.signed_on, order.code), default=None)


def approval_words(order: MedicalOrder | None) -> str:
    """What stands beside the title: who approved it and when, under which conditions, or that nobody did."""
    if order is None:
        return NOT_APPROVED
    conditions = f"; conditions: {order.conditions}" if order.conditions else ""
    return f"approved by medical direction: {order.signer}, {order.signed_on.isoformat()}{conditions}"
