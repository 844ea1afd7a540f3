"""One sentence to say aloud at the medical time-out: the rule, who is the exception, and who nobody can speak for."""

from collections.abc import Iterable, Iterator, Mapping, Sequence

from onthree.programme.records import Athlete, Team
from onthree.techniques.technique import Technique
from onthree.transfers.options import AthleteAnswer, by_kind

LONGEST_LIST_COUNT = 8
"""More numbers than this are not called out: their count is."""

_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
_NOBODY = "no option with what is here"
_UNKNOWN = "not known whether any option is possible"


def sentence(answers: Sequence[AthleteAnswer], teams: Mapping[str, Team]) -> str:
    """What to say for the athletes of one event found in one position; exceptions by jersey number.

    The largest group with a planned option is the rule, the other groups are its exceptions. Athletes whose answer
    is unknown or who have no option come last and are never left out.
    """
    if not answers:
        return "No athletes are listed for this event."
    names = {kind: _group(alike[0], _to_do(alike[0])) for kind, alike in by_kind(answers).items()}
    groups: dict[str, list[AthleteAnswer]] = {}
    for answer in answers:
        groups.setdefault(names[answer.kind], []).append(answer)
    ordered = [groups[name] for name in sorted(groups, key=lambda n: (not groups[n][0].planned, -len(groups[n]), n))]
    rule, *said = (
        f"{words}{_details(group)}" for group, words in zip(ordered, _without_repeating(ordered), strict=True)
    )
    parts = [f"{name_numbers(group, teams)}: {words}" for group, words in zip(ordered[1:], said, strict=True)]
    except_for = f"; except {'; '.join(parts)}" if parts else ""
    return f"Found {answers[0].position}: {rule}{except_for}."


def way(answer: AthleteAnswer) -> str:
    """How the planned option gets the athlete off the ground: the device, before it the technique unless it tells."""
    planned = answer.planned
    if not planned:
        return _UNKNOWN if answer.status == "unknown" else _NOBODY
    onto = next(step.technique for step in planned.option.steps if "device" in step.technique.after)
    devices = " and ".join(planned.device_names)
    return devices if onto.title.lower().startswith(onto.after["device"]) else f"{_short_title(onto)}, {devices}"


def name_numbers(answers: Sequence[AthleteAnswer], teams: Mapping[str, Team]) -> str:
    """Jersey numbers of the athletes of the answers as called out, or how many there are."""
    return name_athletes([answer.athlete for answer in answers], teams)


def name_athletes(athletes: Sequence[Athlete], teams: Mapping[str, Team]) -> str:
    """Jersey numbers as called out, or how many there are when the list is too long to say."""
    if len(athletes) > LONGEST_LIST_COUNT:
        return f"{len(athletes)} athletes"
    return numbers(athletes, teams)


def numbers(athletes: Iterable[Athlete], teams: Mapping[str, Team]) -> str:
    """Jersey numbers, by team where there is more than one team; the code where there is no number."""
    by_team: dict[str, list[str]] = {}
    for athlete in athletes:
        called = athlete.code if athlete.number is None else str(athlete.number)
        by_team.setdefault(athlete.team, []).append(called)
    prefix = {code: f"{team.name} " if len(teams) > 1 else "" for code, team in teams.items()}
    return ", ".join(f"{prefix[team]}{', '.join(called)}" for team, called in by_team.items())


def in_words(count: int) -> str:
    """A count as a word up to twelve, else in figures."""
    return _NUMBERS[count] if count < len(_NUMBERS) else str(count)


def _without_repeating(groups: Sequence[Sequence[AthleteAnswer]]) -> Iterator[str]:
    """What is said of each group; where all that is to be done for the one before is to be done too, "the same"."""
    before: tuple[str, ...] = ()
    for first, *_ in groups:
        to_do = _to_do(first)
        is_repeated = bool(before) and set(before) <= set(to_do)
        more = ("the same", *(each for each in to_do if each not in before)) if is_repeated else to_do
        yield _group(first, more)
        before = to_do or before


def _group(answer: AthleteAnswer, to_do: Sequence[str]) -> str:
    if not answer.planned:
        return f"{way(answer)} ({'; '.join(to_do)})" if to_do else way(answer)
    return f"{way(answer)}, hold until minute {answer.planned.from_min}" if answer.planned.waits else way(answer)


def _short_title(technique: Technique) -> str:
    return technique.title.split(" onto ")[0].split(",")[0].lower()


def _details(answers: Sequence[AthleteAnswer]) -> str:
    firsts = [alike[0] for alike in by_kind(answers).values()]
    counts = sorted({answer.planned.lifters_count for answer in firsts if answer.planned})
    if not counts:
        return ""
    least, most = in_words(counts[0]), in_words(counts[-1])
    return f", {least} lifters" if least == most else f", {least} to {most} lifters"


def _to_do(answer: AthleteAnswer) -> tuple[str, ...]:
    """The smallest fix of an athlete who has no planned option; athletes with different ones are said apart."""
    if answer.planned or not answer.fixes:
        return ()
    return tuple(dict.fromkeys(cause.do for cause in answer.fixes[0]))
