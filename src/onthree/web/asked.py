"""What a page was asked in its address: the day used as today, the found position, changes to the event.

The grammar is that of the command line; every problem is told at its field, all at once.
"""

from datetime import UTC, date, datetime

from django import forms
from django.conf import settings
from django.http import QueryDict
from django.utils.http import urlencode

from onthree.actions.event_answer import WhatIf
from onthree.programme.presence import PresenceError, read_hands, read_presence
from onthree.techniques.state import FOUND_POSITIONS, SURFACES
from onthree.transfers.goals import GOALS

_LONGEST_HANDS = 100
_LONGEST_WITHOUT = 2000
_ON = "on"


class Asked(forms.Form):
    """The query of a page; fields left out or blank ask for nothing."""

    position = forms.ChoiceField(label="Found", required=False)
    surface = forms.ChoiceField(label="Surface", required=False)
    hands = forms.CharField(
        label="Other hands",
        required=False,
        max_length=_LONGEST_HANDS,
        help_text="3,+2@8min is three now and two more in 8 minutes. Ambulance crews come as planned.",
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"}),
    )
    goal = forms.ChoiceField(label="Goal", required=False)
    without = forms.CharField(required=False, max_length=_LONGEST_WITHOUT, widget=forms.HiddenInput)
    unit = forms.CharField(required=False, max_length=_LONGEST_HANDS, widget=forms.HiddenInput)
    on = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, query: QueryDict) -> None:
        given = {name: str(value).strip() for name, value in query.dict().items()}
        given["without"] = ",".join(query.getlist("without"))
        if given.get("unit") and (minutes := given.pop("unit_min", "")):
            given["unit"] = f"{given['unit']}@{minutes}min"
        given["surface"] = given.get("surface", "").replace("-", " ")
        super().__init__(given, auto_id="ask-%s", label_suffix="")
        self._offer("position", " and ".join(FOUND_POSITIONS), {name: name for name in FOUND_POSITIONS})
        self._offer("surface", "as recorded for the venue", {name: name for name in SURFACES})
        self._offer("goal", "as agreed with the agencies", {goal.id: goal.title for goal in GOALS.values()})

    def _offer(self, name: str, nothing: str, choices: dict[str, str]) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", nothing), *choices.items()]
        listed = ", ".join(choices)
        field.error_messages["invalid_choice"] = f"{name} '%(value)s' given, expected one of: {listed}"

    def clean_hands(self) -> str:
        """The hands as typed, once they can be read."""
        hands: str = self.cleaned_data["hands"]
        try:
            if hands:
                read_hands(hands)
        except PresenceError as error:
            raise forms.ValidationError(str(error)) from None
        return hands

    def clean_without(self) -> tuple[str, ...]:
        """Codes of who and what is not there after all."""
        return tuple(dict.fromkeys(code.strip() for code in self.cleaned_data["without"].split(",") if code.strip()))

    def clean_unit(self) -> str:
        """An ambulance that comes besides, as typed: one that cannot be read is told here."""
        unit: str = self.cleaned_data["unit"]
        try:
            if unit:
                read_presence(unit)
        except PresenceError as error:
            raise forms.ValidationError(str(error)) from None
        return unit

    def clean_on(self) -> date | None:
        """The day asked for."""
        text = self.cleaned_data[_ON]
        try:
            return date.fromisoformat(text) if text else None
        except ValueError:
            raise forms.ValidationError(f"on {text!r} given, a day such as 2026-11-25 expected") from None

    @property
    def day(self) -> date:
        """The day used as today: the one asked for, else that of the settings, else the clock's."""
        asked: date | None = self.cleaned_data.get(_ON) if self.errors else self.cleaned_data[_ON]
        return asked or settings.TODAY or datetime.now(UTC).astimezone().date()

    @property
    def positions(self) -> tuple[str, ...]:
        """The found positions asked for."""
        position = self.cleaned_data["position"]
        return (position,) if position else FOUND_POSITIONS

    @property
    def what_if(self) -> WhatIf:
        """The changes to the event that were asked for."""
        asked = self.cleaned_data
        return WhatIf(
            asked["surface"] or None,
            asked["hands"] or None,
            asked["goal"] or None,
            without=asked["without"],
            unit=asked["unit"] or None,
        )

    @property
    def query(self) -> str:
        """What was asked and could be read, for links to other pages about the same."""
        return _query({name: value for name, value in self.cleaned_data.items() if value})

    @property
    def query_of_day(self) -> str:
        """The day asked for, for links to pages about the events as planned."""
        day = self.cleaned_data.get(_ON)
        return _query({_ON: day} if day else {})


def _query(values: dict[str, str | date | tuple[str, ...]]) -> str:
    said = {name: ",".join(value) if isinstance(value, tuple) else str(value) for name, value in values.items()}
    return f"?{urlencode(said)}" if values else ""
