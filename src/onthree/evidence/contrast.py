"""Contrasts: which of two kinds of handling moved less in one source, plane by plane."""

import tomllib
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from hashlib import sha256
from typing import Literal

from pydantic import TypeAdapter
from pydantic.dataclasses import dataclass

from onthree.evidence.measured import METRIC_WORDS, PLANE_WORDS, PLANES, QUANTITY_WORDS, STRICT, Measured, Plane
from onthree.evidence.problems import EvidenceError, EvidenceProblem, read_lines
from onthree.sources import evidence_texts

Found = Literal["less", "more", "no_difference_found", "not_reported"]
_TURNED: Mapping[Found, Found] = {"less": "more", "more": "less"}


@dataclass(frozen=True, config=STRICT, kw_only=True)
class Planes:
    """What was found of ``lower`` against ``higher`` in each plane; "no difference found" is not equality."""

    flexion: Found
    lateral: Found
    axial: Found

    def __iter__(self) -> Iterator[tuple[Plane, Found]]:
        return iter(zip(PLANES, (self.flexion, self.lateral, self.axial), strict=True))

    def turned(self) -> "Planes":
        """The same finding, said of ``higher`` against ``lower``."""
        return Planes(**{plane: _TURNED.get(found, found) for plane, found in self})

    def which(self, wanted: Found) -> tuple[Plane, ...]:
        """The planes in which this was found."""
        return tuple(plane for plane, found in self if found == wanted)


@dataclass(frozen=True, config=STRICT, kw_only=True)
class Contrast(Measured):
    """Two kinds of handling that one source compared, as plain words; ``planes`` says it of the lower one."""

    id: str
    lower: str
    higher: str
    planes: Planes

    @property
    def layer(self) -> tuple[str, str]:
        """Measured quantity and metric; only contrasts of one layer are chained. A metric not known is like none."""
        is_known = self.metric not in ("other", "not_reported")
        return self.measured_quantity, self.metric if is_known else f"{self.metric}, {self.id}"

    def said_of(self, kind: str) -> str:
        """What was found of one of the two kinds, how and on whom, with the source."""
        planes = self.planes if kind == self.lower else self.planes.turned()
        worn = f"equipment {self.equipment.replace('_', ' ')}"
        how = f"{QUANTITY_WORDS[self.measured_quantity]}, {METRIC_WORDS[self.metric]}"
        return f"{planes_in_words(planes)}; {self.sample}; {how}; {worn} [{self.source}]"


def planes_in_words(planes: Planes) -> str:
    """The planes grouped by what was found in them."""
    words: list[str] = []
    for found in ("less", "more", "no_difference_found", "not_reported"):
        *others, last = ("", *(PLANE_WORDS[plane] for plane in planes.which(found)))
        named = " and ".join(filter(None, [", ".join(filter(None, others)), last]))
        if named and found in ("less", "more"):
            words.append(f"{found} in {named}")
        elif named:
            words.append(f"{named}: {found.replace('_', ' ')}")
    return "; ".join(words)


def read_contrasts(texts: Mapping[str, str]) -> tuple[Contrast, ...]:
    """Read files of contrasts (file name to TOML text). Raises EvidenceError with all problems of all files."""
    lines, problems = _lines(texts)
    contrasts, wrong = read_lines(TypeAdapter(Contrast), lines)
    problems = [*problems, *wrong, *_contradictions(contrasts)]
    if problems:
        raise EvidenceError(problems)
    return contrasts


def _lines(texts: Mapping[str, str]) -> tuple[list[tuple[str, Mapping[str, object]]], list[EvidenceProblem]]:
    lines: list[tuple[str, Mapping[str, object]]] = []
    problems: list[EvidenceProblem] = []
    for file, text in texts.items():
        try:
            listed = tomllib.loads(text).get("contrast", [])
        except tomllib.TOMLDecodeError as error:
            problems.append(EvidenceProblem(file, "the file", f"is not TOML: {error}"))
        else:
            lines += [(f"{file}: {line.get('id', f'contrast {n}')}", line) for n, line in enumerate(listed, start=1)]
    return lines, problems


def _contradictions(contrasts: Iterable[Contrast]) -> Iterator[EvidenceProblem]:
    for name, count in Counter(contrast.id for contrast in contrasts).items():
        if count > 1:
            yield EvidenceProblem(name, "id", f"stands {count} times: an identifier is unique")
    for contrast in contrasts:
        if contrast.lower == contrast.higher:
            yield EvidenceProblem(contrast.id, "higher", f"is {contrast.higher!r} like lower: two kinds are compared")
        if contrast.measured_quantity not in ("segment", "head-trunk", "helmet-trunk", "head"):
            words = QUANTITY_WORDS[contrast.measured_quantity]
            yield EvidenceProblem(contrast.id, "measured_quantity", f"{words}: nothing that orders handlings by planes")


@cache
def bundled_contrasts() -> tuple[Contrast, ...]:
    """The contrasts that come with onthree, in the order of their file."""
    return read_contrasts({name: text for name, text in evidence_texts().items() if name.endswith(".toml")})


def evidence_hash() -> str:
    """The first eight hexadecimal digits of the SHA-256 of the bundled evidence: the same evidence, the same hash."""
    content = sha256()
    for name, text in sorted(evidence_texts().items()):
        content.update(f"{name}\0{text}\0".encode())
    return content.hexdigest()[:8]
