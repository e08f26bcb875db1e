"""What an import did, or what stopped it."""

from dataclasses import dataclass
from enum import StrEnum

MAX_PROBLEMS_LISTED = 1000
"""A file that is wrong in every cell still gets an answer of a readable size."""


class Kind(StrEnum):
    """What a line stands for; the word is that of the resource."""

    FAMILIES = "engine-families"
    PARTS = "parts"
    RULES = "shop-rules"
    DOCUMENTS = "documents"


class FileFormat(StrEnum):
    """How a file is written."""

    CSV = "csv"
    JSON_LINES = "jsonl"


@dataclass(frozen=True, slots=True, kw_only=True)
class LineProblem:
    """One thing that is wrong in a file."""

    file: str | None = None
    """Where several files are read as one."""
    row: int
    """Line of a JSON Lines file; record of a CSV file, the header being 1."""
    column: str | None = None
    """Of a CSV file."""
    pointer: str = ""
    """JSON pointer into the value that the row stands for."""
    value: str | None = None
    """What stands there, as far as it can be shown."""
    code: str
    """Stable word for the kind of problem."""
    detail: str
    """The sentence for people."""
    refused_words: str | None = None
    """Where the line is refused for what it asks: the words that were found."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ImportReport:
    """What became of the lines of a file."""

    dry_run: bool
    """Whether everything was checked and nothing kept."""
    created: int = 0
    updated: int = 0
    unchanged: int = 0
    """Lines that say what is in the catalogue already; they keep their version."""
    rejected: int = 0
    """Lines with at least one problem; when there is one, no line is taken."""
    problem_count: int = 0
    """All problems, also those beyond the thousand that are listed."""
    problems: tuple[LineProblem, ...] = ()
