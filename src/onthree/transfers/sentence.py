"""One sentence to say aloud at the medical time-out: the rule, who is the exception, and who nobody can speak for."""

from collections.abc import Iterable, Mapping, Sequence

from onthree.programme.records import Athlete, Team
from onthree.techniques.state import spoken
from onthree.transfers.options import AthleteAnswer

_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
_NOBODY = "no option with what is here"
_UNKNOWN = "not known"


def sentence(answers: Sequence[AthleteAnswer], teams: Mapping[str, Team]) -> str:
    """What to say for the athletes of one event found in one position; exceptions by jersey number.

    The largest group with a planned option is the rule. Athletes whose answer is unknown or who have no option are
    named after the exceptions, never left out.
    """
    if not answers:
        return "No athletes are listed for this event."
    groups: dict[str, list[AthleteAnswer]] = {}
    for answer in answers:
        groups.setdefault(_group(answer), []).append(answer)
    order = sorted(groups, key=lambda name: (name in (_UNKNOWN, _NOBODY), -len(groups[name]), name))
    parts = [_part(name, groups[name], teams, is_rule=place == 0) for place, name in enumerate(order)]
    return f"Found {answers[0].position}: {'; '.join(parts)}."


def _group(answer: AthleteAnswer) -> str:
    if not answer.planned:
        return _UNKNOWN if answer.status == "unknown" else _NOBODY
    hold = f", hold until minute {answer.planned.from_min}" if answer.status == "hold" else ""
    return f"{way(answer)}{hold}"


def way(answer: AthleteAnswer) -> str:
    """How the planned option gets the athlete off the ground: device, and technique unless the device tells."""
    planned = answer.planned
    if not planned:
        return _UNKNOWN
    devices = " and ".join(planned.device_names)
    onto = next((step.technique for step in planned.option.steps if "device" in step.technique.after), None)
    if onto is None or onto.after["device"] in onto.id or onto.after["device"].split()[0] == onto.id.split("_")[0]:
        return devices
    return f"{_short(onto.id)} onto the {devices}"


def _short(technique_id: str) -> str:
    return spoken(technique_id).removesuffix(" long board")


def _part(name: str, answers: Sequence[AthleteAnswer], teams: Mapping[str, Team], *, is_rule: bool) -> str:
    who = "everyone else" if is_rule else numbers((answer.athlete for answer in answers), teams)
    if is_rule and len(answers) == 1 and not answers[0].planned:
        who = numbers((answer.athlete for answer in answers), teams)
    return f"{who}: {name}{_lifters(answers)}{_why(answers)}"


def _lifters(answers: Sequence[AthleteAnswer]) -> str:
    counts = sorted({answer.planned.lifters_count for answer in answers if answer.planned})
    if not counts or counts == [0]:
        return ""
    if len(counts) == 1:
        return f", {in_words(counts[0])} lifters"
    return f", {in_words(counts[0])} to {in_words(counts[-1])} lifters"


def _why(answers: Sequence[AthleteAnswer]) -> str:
    if answers[0].planned:
        return ""
    causes = [fix[0].do for answer in answers for fix in answer.fixes[:1] if fix]
    return f" ({'; '.join(dict.fromkeys(causes))})" if causes else ""


def numbers(athletes: Iterable[Athlete], teams: Mapping[str, Team]) -> str:
    """Jersey numbers as called out, by team where there is more than one; the code where there is no number."""
    by_team: dict[str, list[str]] = {}
    for athlete in athletes:
        called = athlete.code if athlete.number is None else str(athlete.number)
        by_team.setdefault(athlete.team, []).append(called)
    if len(teams) == 1:
        return ", ".join(called for list_ in by_team.values() for called in list_)
    return ", ".join(f"{teams[team].name} {', '.join(called)}" for team, called in by_team.items())


def in_words(count: int) -> str:
    """A count as a word up to twelve, else in figures."""
    return _NUMBERS[count] if count < len(_NUMBERS) else str(count)
