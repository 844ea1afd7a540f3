"""Reads the bundled data: sources, parameters, tables, techniques, life-first pages. The one pure module for files."""

import csv
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from importlib.resources import files
from typing import Any, TypeVar

DATA = files("onthree") / "data"
T = TypeVar("T")


@dataclass(frozen=True)
class Source:
    """Where a fact comes from; ``is_read`` is False for a fact taken from memory, which every output says."""

    key: str
    citation: str
    is_read: bool
    note: str = ""

    def __str__(self) -> str:
        return self.citation if self.is_read else f"{self.citation} [from memory, not checked]"


@dataclass(frozen=True)
class ParameterValue:
    """One value of a parameter, in the parameter's unit, valid from a date until the next one."""

    valid_from: date
    value: Any
    source: str
    where: str
    is_guess: bool


@cache
def all_sources() -> Mapping[str, Source]:
    """Every source the bundled data and checks cite, by key."""
    listed = tomllib.loads((DATA / "sources.toml").read_text(encoding="utf-8"))
    return {key: Source(key, row["citation"], row["read"], row.get("note", "")) for key, row in listed.items()}


def source(key: str) -> Source:
    """The source with this key. Raises KeyError with the key and the file to add it to."""
    try:
        return all_sources()[key]
    except KeyError:
        raise KeyError(f"source {key!r} is not listed in data/sources.toml: add its citation there") from None


def parameter(name: str, on: date) -> ParameterValue:
    """The value of ``data/parameters/<name>.toml`` in force on a date. Raises LookupError before the first."""
    in_force = [value for value in _parameter_values(name) if value.valid_from <= on]
    if not in_force:
        raise LookupError(f"parameter {name!r} has no value in force on {on.isoformat()}")
    return max(in_force, key=lambda value: value.valid_from)


@cache
def parameter_names() -> frozenset[str]:
    """The names of all bundled parameters."""
    return frozenset(entry.name.removesuffix(".toml") for entry in (DATA / "parameters").iterdir())


@cache
def _parameter_values(name: str) -> tuple[ParameterValue, ...]:
    described = tomllib.loads((DATA / "parameters" / f"{name}.toml").read_text(encoding="utf-8"))
    return tuple(
        ParameterValue(row["from"], row["value"], row["source"], row.get("where", ""), row.get("guess", False))
        for row in described["value"]
    )


@cache
def table(name: str) -> tuple[Mapping[str, str], ...]:
    """The rows of ``data/tables/<name>.csv`` as printed text, by column; lines that start with ``#`` are its header."""
    lines = (DATA / "tables" / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    return tuple(csv.DictReader(line for line in lines if not line.startswith("#")))


def table_as(kind: type[T], name: str) -> T:
    """A table of choices or beliefs as one record: ``rest_least`` in s is its field ``rest_least_s``."""
    return kind(**{f"{row['name']}_{row['unit']}": float(row["value"]) for row in table(name)})


def technique_texts() -> Mapping[str, str]:
    """The bundled technique files: file name to text."""
    return _texts("techniques")


def life_first_texts() -> Mapping[str, str]:
    """The bundled life-first pages: file name to text."""
    return _texts("life_first")


def evidence_texts() -> Mapping[str, str]:
    """The bundled evidence: file name to text; the files of contrasts, and the table of published values."""
    values = DATA / "tables" / "evidence_values.csv"
    return {**_texts("evidence"), values.name: values.read_text(encoding="utf-8")}


def _texts(folder: str) -> Mapping[str, str]:
    return {
        entry.name: entry.read_text(encoding="utf-8")
        for entry in sorted((DATA / folder).iterdir(), key=lambda entry: entry.name)
        if entry.name.endswith(".toml")
    }
