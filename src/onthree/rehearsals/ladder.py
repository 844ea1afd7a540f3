"""The ladder of what a film is worth: every rung is a full run, and each says what would lift it."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from onthree.programme.records import Recording, Run

MANY_TAGS = 3
"""Tags of a segment from which one hidden plate no longer hides the segment; a choice of this program."""


@dataclass(frozen=True, kw_only=True)
class Filmed:
    """How a run was filmed: phones that filmed it together, tags seen on each segment, whether the camera is known.

    ``are_tags_counted``: False where only that there were tags is known.
    """

    films_count: int
    head_tags_count: int = 0
    trunk_tags_count: int = 0
    is_camera_calibrated: bool = False
    are_tags_counted: bool = True

    @property
    def fewest_tags_count(self) -> int:
        """Tags on the segment that has fewer of them."""
        return min(self.head_tags_count, self.trunk_tags_count)


@dataclass(frozen=True)
class Rung:
    """Where a run stands on the ladder: its number, what that gives, and what would lift it, the nearest thing first.

    Rung 3 is the highest. ``lifts`` is empty where nothing more is known to help.
    """

    number: int
    reached: str
    lifts: tuple[str, ...]

    @property
    def said(self) -> str:
        """The rung in one sentence."""
        return f"rung {self.number} of 3: {self.reached}" if self.number else self.reached


HIGHEST = 3


def _reached(number: int, filmed: Filmed) -> str:
    """What a rung gives, said of as many phones and tags as there were."""
    if number == 0:
        return "not filmed: roles, incidents and the times tapped live"
    if number == 1:
        return "plain film: times, incidents, who did what, and the picture at each mark"
    if number == HIGHEST:
        return "tags enough on both, a calibrated camera and two phones: angles with their narrow band"
    phones = "one phone" if filmed.films_count < 2 else "two phones"
    tags = "a few tags" if filmed.fewest_tags_count < MANY_TAGS else "tags enough"
    tags = tags if filmed.are_tags_counted else "tags on both"
    return f"{phones} and {tags}: start lag, share seen, and angles with their wider band"


def rung_of(filmed: Filmed) -> Rung:
    """The rung a run reached. Unknown counts as not there: a camera nobody calibrated is not calibrated."""
    lifts = tuple(_lifts(filmed))
    with_tags = HIGHEST - 1 if lifts else HIGHEST
    number = with_tags if filmed.fewest_tags_count else int(filmed.films_count > 0)
    return Rung(number, _reached(number, filmed), lifts)


def _lifts(filmed: Filmed) -> Iterator[str]:
    if not filmed.films_count:
        yield "put a phone on a stand where both head and chest stay in view, and film"
    if not filmed.fewest_tags_count:
        where = "head and trunk" if not (filmed.head_tags_count or filmed.trunk_tags_count) else None
        where = where or ("head" if not filmed.head_tags_count else "trunk")
        yield f"print tags and put them on the {where}: a boom on the face mask, a stalk from the sternum"
    elif filmed.fewest_tags_count < MANY_TAGS:
        fewer = "" if filmed.are_tags_counted else " if there were fewer,"
        yield f"at least {MANY_TAGS} tags on each of head and trunk,{fewer} seen from many sides: a cube or a fan"
    if not filmed.is_camera_calibrated:
        yield "calibrate the phone with the printed board once, and keep the file"
    if filmed.films_count < 2:
        yield "a second phone on the other side, with a clap or flash at the start"


def rung_recorded(run: Run, recordings: Iterable[Recording]) -> Rung:
    """The rung as it was measured; else what the recordings alone tell: a film with tags has one on each at least."""
    films = [one for one in recordings if one.kind in ("film", "film with tags")]
    tags_count = int(any(one.kind == "film with tags" for one in films))
    filmed = Filmed(
        films_count=len(films), head_tags_count=tags_count, trunk_tags_count=tags_count, are_tags_counted=False
    )
    told = rung_of(filmed)
    if run.rung is None:
        return told
    return Rung(run.rung, _reached(run.rung, filmed), () if run.rung == HIGHEST else told.lifts)
