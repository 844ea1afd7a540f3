"""One cell of a sheet to one value of a record and back, by the field's description alone."""

import re
import unicodedata
from collections import Counter
from collections.abc import Callable, Mapping
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from functools import cache
from typing import Any, TypeVar

from onthree.programme.fields import LISTS, FieldDescription, Kind, Number
from onthree.programme.presence import Presence, PresenceError, read_presence
from onthree.units import Length, Mass, QuantityError, read_length, read_mass
from onthree.workbook.problems import InputError, did_you_mean

Q = TypeVar("Q", Mass, Length)
V = TypeVar("V", int, float, Mass, Length, date)
Cell = str | float | bool | date | time | timedelta
"""What a cell holds; an empty string when it is blank."""

LONGEST_TEXT = 1000
LONGEST_CODE = 40
FILL_IN = "fill it in"
"""What to do about a cell that is blank and must not be."""

_JOINERS = "\u200c\u200d"  # part of the spelling of words in some scripts
_CODE = re.compile(r"[^\s,;@]+")
_BARE_NUMBER = re.compile(r"\d{1,6}(?:\.\d{1,6})?")
_NUMBER = re.compile(r"-?\d{1,6}(?:\.\d{1,6})?")
_PLACES = 6
_ISO_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")
_CLOCK = re.compile(r"(\d{1,2}):(\d{2})(?::00)?")
_ANSWERS = {"yes": True, "true": True, "no": False, "false": False}
_EXACT_UP_TO = 1e15  # whole numbers above it lose digits in a spreadsheet
_EARLIEST, _LATEST = "2000-01-01", "2099-12-31"  # outside: a number that the spreadsheet shows as a date
_AS_TEXT = "format the cell as text and type it again"


def cleaned(text: str) -> str:
    """Text without invisible characters, in composed form (Unicode NFC), with single blanks and none at the ends."""
    if not (text.isascii() and text.isprintable()):
        kept = (sign for sign in unicodedata.normalize("NFC", text) if _is_visible(sign))
        text = "".join(kept)
    return " ".join(text.split())


def read_value(field: FieldDescription, cell: Cell, unit: str = "") -> Any:
    """The value of a field from its cell; a bare number takes ``unit`` if one is given. Raises InputError."""
    text = cleaned(cell) if isinstance(cell, str) else shown_cell(cell)
    if text:
        return _READERS[field.kind](field, text if isinstance(cell, str) else cell, unit)
    if field.is_required:
        raise InputError("", _expected(field), FILL_IN)
    return blank(field)


def blank(field: FieldDescription) -> Any:
    """The value of a field that is left blank: nothing known."""
    if field.kind in LISTS:
        return ()
    return "" if field.kind is Kind.TEXT else None


def shown_cell(cell: Cell) -> str:
    """What a cell holds, as text."""
    if isinstance(cell, bool):
        return str(cell).upper()
    if isinstance(cell, float | int):
        return f"{cell:.15g}"
    if isinstance(cell, datetime):
        return cell.isoformat(" ")
    return cell.isoformat() if isinstance(cell, date | time) else str(cell)


def is_code(text: str) -> bool:
    """Whether a text may be the code of a record."""
    return bool(_CODE.fullmatch(text)) and len(text) <= LONGEST_CODE and not any(sign in text for sign in _JOINERS)


def as_typed(field: FieldDescription, value: Any) -> str:
    """A value of a record as a person types it; blank when nothing is known."""
    if value is None:
        return ""
    if field.kind in LISTS:
        return ", ".join(map(str, value))
    if field.kind is Kind.YES_NO:
        return "yes" if value else "no"
    if field.kind is Kind.CLOCK:
        return f"{value:%H:%M}"
    return number_shown(value) if field.kind is Kind.NUMBER else str(value)


def number_shown(value: Number) -> str:
    """A number to six places at most, without needless noughts."""
    return f"{value:.{_PLACES}f}".rstrip("0").rstrip(".")


def _is_visible(sign: str) -> bool:
    return sign.isspace() or sign in _JOINERS or unicodedata.category(sign) not in ("Cc", "Cf", "Cs", "Co", "Cn")


def _code(field: FieldDescription, cell: Cell, unit: str) -> str:
    text = _as_text(field, cell)
    if not is_code(text):
        raise InputError(text, _expected(field), f"leave out blanks , ; and @, at most {LONGEST_CODE} characters")
    return text


def _text(field: FieldDescription, cell: Cell, unit: str) -> str:
    text = _as_text(field, cell)
    if len(text) > LONGEST_TEXT:
        raise InputError(text, f"at most {LONGEST_TEXT} characters", f"shorten it from {len(text)}")
    return text


def _as_text(field: FieldDescription, cell: Cell) -> str:
    if isinstance(cell, str):
        return cell
    if isinstance(cell, bool):
        raise InputError(shown_cell(cell), _expected(field), _AS_TEXT)
    if not isinstance(cell, float | int):
        raise InputError(shown_cell(cell), _expected(field), f"the spreadsheet made it a date or time; {_AS_TEXT}")
    if not abs(cell) < _EXACT_UP_TO or cell != int(cell):
        raise InputError(shown_cell(cell), _expected(field), f"the spreadsheet may have changed the number; {_AS_TEXT}")
    return str(int(cell))


def _integer(field: FieldDescription, cell: Cell, unit: str) -> int:
    text = shown_cell(cell)
    if isinstance(cell, bool | date | time | timedelta) or not re.fullmatch(r"\d{1,9}", text):
        raise InputError(text, _expected(field), "write digits only")
    return _in_bounds(field, text, int(text))


def _number(field: FieldDescription, cell: Cell, unit: str) -> Number:
    text = shown_cell(cell)
    if isinstance(cell, float | int) and not isinstance(cell, bool):
        text = number_shown(cell)
    if isinstance(cell, bool | date | time | timedelta) or not _NUMBER.fullmatch(text):
        raise InputError(text, _expected(field), "write digits and a decimal point, no unit; it stands in the header")
    return _in_bounds(field, text, float(text))


def _mass(field: FieldDescription, cell: Cell, unit: str) -> Mass:
    return _quantity(field, cell, unit, read_mass)


def _length(field: FieldDescription, cell: Cell, unit: str) -> Length:
    return _quantity(field, cell, unit, read_length)


def _quantity(field: FieldDescription, cell: Cell, unit: str, read: Callable[[str], Q]) -> Q:
    text = shown_cell(cell)
    if unit and _BARE_NUMBER.fullmatch(text):
        text = f"{text} {unit}"
    try:
        return _in_bounds(field, text, read(text))
    except QuantityError as error:
        raise InputError(error.given, error.expected, error.fix) from None


def _date(field: FieldDescription, cell: Cell, unit: str) -> date:
    text = shown_cell(cell)
    if isinstance(cell, datetime):
        if cell.time() != time():
            raise InputError(text, _expected(field), "leave out the time of day")
        return _in_bounds(field, text, cell.date())
    if isinstance(cell, date):
        return _in_bounds(field, text, cell)
    if not isinstance(cell, str) or not _ISO_DATE.fullmatch(cell):
        raise InputError(text, _expected(field), "write year-month-day or use a date cell; the order is never guessed")
    try:
        day = date.fromisoformat(cell)
    except ValueError:
        raise InputError(text, _expected(field), "the calendar has no such day") from None
    return _in_bounds(field, text, day)


def _clock(field: FieldDescription, cell: Cell, unit: str) -> time:
    text = shown_cell(cell)
    match = _CLOCK.fullmatch(text) if isinstance(cell, str | time | timedelta) else None
    if not match or int(match[1]) > 23 or int(match[2]) > 59:
        raise InputError(text, _expected(field), "write hours and minutes of the 24-hour clock")
    return time(int(match[1]), int(match[2]))


def _choice(field: FieldDescription, cell: Cell, unit: str) -> str:
    text = shown_cell(cell)
    found = _spellings(field.choices).get(text.casefold())
    if found is None:
        fix = did_you_mean(text, field.choices, "choose one of these")
        raise InputError(text, f"one of: {', '.join(field.choices)}", fix)
    return found


def _yes_no(field: FieldDescription, cell: Cell, unit: str) -> bool:
    answer = _ANSWERS.get(shown_cell(cell).casefold())
    if answer is None:
        raise InputError(shown_cell(cell), "yes or no", "write yes or no, or leave it blank if not known")
    return answer


def _each(read: Callable[[FieldDescription, Cell, str], Any], named: Callable[[Any], str] = str) -> Callable[..., Any]:
    def read_list(field: FieldDescription, cell: Cell, unit: str) -> tuple[Any, ...]:
        text = _as_text(field, cell)
        found = [read(field, part.strip(), unit) for part in re.split("[,;]", text) if part.strip()]
        for name, times in Counter(map(named, found)).items():
            if times > 1:
                raise InputError(text, "each only once", f"{name!r} stands there {times} times: keep one")
        if field.is_required and not found:
            raise InputError(text, _expected(field), FILL_IN)
        return tuple(found)

    return read_list


def _presence(field: FieldDescription, cell: Cell, unit: str) -> Presence:
    text = shown_cell(cell)
    try:
        presence = read_presence(text)
    except PresenceError as error:
        expected, _, fix = str(error).partition(" given, ")[2].partition(" expected: ")
        raise InputError(text, expected, fix) from None
    return Presence(_code(field, presence.code, unit), presence.from_min)


def _in_bounds(field: FieldDescription, text: str, value: V) -> V:
    lowest, highest = _bounds(field)
    amount = _amount(value)
    if (lowest is not None and amount < lowest) or (highest is not None and amount > highest):
        what = "number and the unit" if isinstance(value, Mass | Length) else f"{field.kind}"
        raise InputError(text, f"a {field.kind} {range_shown(field)}", f"check the {what}")
    return value


def range_shown(field: FieldDescription) -> str:
    """The bounds of a field as words, empty when it has none."""
    lowest, highest = _range(field)
    if lowest and highest:
        return f"from {lowest} to {highest}"
    if lowest:
        return f"from {lowest}"
    return f"up to {highest}" if highest else ""


def _range(field: FieldDescription) -> tuple[str, str]:
    usual = (_EARLIEST, _LATEST) if field.kind is Kind.DATE else ("", "")
    return field.lowest or usual[0], field.highest or usual[1]


def _amount(value: Any) -> Any:
    if isinstance(value, Mass):
        return value.kg
    return value.m if isinstance(value, Length) else value


@cache
def _bounds(field: FieldDescription) -> tuple[Decimal | float | date | None, Decimal | float | date | None]:
    read: Mapping[Kind, Callable[[str], Any]] = {
        Kind.MASS: read_mass, Kind.LENGTH: read_length, Kind.INTEGER: int, Kind.NUMBER: float,
        Kind.DATE: date.fromisoformat,
    }  # fmt: skip
    bounds = [_amount(read[field.kind](text)) if text else None for text in _range(field)]
    return bounds[0], bounds[1]


@cache
def _spellings(choices: tuple[str, ...]) -> Mapping[str, str]:
    return {choice.casefold(): choice for choice in choices}


def _expected(field: FieldDescription) -> str:
    article = "" if field.kind in LISTS else "a "
    return f"{article}{field.kind} such as {field.example}" if field.example else f"{article}{field.kind}"


_READERS: Mapping[Kind, Callable[[FieldDescription, Cell, str], Any]] = {
    Kind.CODE: _code,
    Kind.TEXT: _text,
    Kind.INTEGER: _integer,
    Kind.NUMBER: _number,
    Kind.MASS: _mass,
    Kind.LENGTH: _length,
    Kind.DATE: _date,
    Kind.CLOCK: _clock,
    Kind.CHOICE: _choice,
    Kind.CHOICES: _each(_choice),
    Kind.WORDS: _each(_text),
    Kind.YES_NO: _yes_no,
    Kind.REFERENCE: _code,
    Kind.REFERENCES: _each(_code),
    Kind.PRESENCES: _each(_presence, named=lambda presence: presence.code),
}
