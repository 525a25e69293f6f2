"""The keywords that the workbook knows: where each may stand and what kind of value it takes.

They are the rows of `data/description_keywords.csv`; since when the language has them stands in
`data/keyword_revisions.csv`. A file may hold others: they are kept, and named as unknown.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from helpers import facts
from helpers.facts import Fact

OUTSIDE = "file"  # the place of a keyword that stands in no block


class Keyword(NamedTuple):
    """One keyword. `inside` are the blocks in which it may stand; `opens` and `closes` name a block, or are empty.

    `kind` says what its value has to be, `indexed` whether it takes an index in brackets.
    """

    name: str
    kind: str
    indexed: bool
    inside: frozenset[str]
    opens: str
    closes: str
    fact: Fact


@cache
def keywords() -> dict[str, Keyword]:
    """Every known keyword, by its name in small letters: upper and lower case mean the same in a description.

    >>> keywords()["module"].opens, sorted(keywords()["info_text"].inside)
    ('module', ['file', 'module'])
    """
    return {row["keyword"].lower(): _keyword(row) for row in facts.rows("description_keywords")}


def _keyword(row: Fact) -> Keyword:
    verb, _, block = row["kind"].partition(" ")
    return Keyword(
        row["keyword"],
        row["kind"].removeprefix("indexed "),
        verb == "indexed",
        frozenset(row["inside"].split()),
        block if verb == "opens" else "",
        block if verb == "closes" else "",
        row,
    )


@cache
def revisions() -> dict[str, tuple[int, Fact]]:
    """The revision of the language that brought a keyword, by its name in small letters, with its source.

    A keyword that is not there is one of which no revision is known.

    >>> revisions()["45.45_supp"][0], "vendor_name" in revisions()
    (2, False)
    """
    return {
        name.lower(): (row.whole("from_revision"), row)
        for row in facts.rows("keyword_revisions")
        for name in row["keywords"].split()
    }


@cache
def bit_rate_keywords(start: str) -> tuple[tuple[float, Keyword], ...]:
    """The keywords of one kind for each bit rate in bit/s: those that begin with `start`, or "supp" for `<rate>_supp`.

    >>> [(rate, keyword.name) for rate, keyword in bit_rate_keywords("MaxTsdr")][-1]
    (12000000.0, 'MaxTsdr_12M')
    """
    return tuple(
        (one.fact.number("kbit_s") * 1e3, one)
        for one in keywords().values()
        if one.fact.has("kbit_s") and one.name.startswith("MaxTsdr") == (start == "MaxTsdr")
    )


@cache
def end_of(block: str) -> str:
    """The keyword that ends a block.

    >>> end_of("module")
    'EndModule'
    """
    return next(one.name for one in keywords().values() if one.closes == block)


def cited_for(keyword: str) -> str:
    """Where it is known from what a keyword means."""
    return keywords()[keyword.lower()].fact.cited
