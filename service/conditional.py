"""Conditional requests (RFC 9110, section 13): ETag, If-None-Match, If-Match.

A stored item has the strong tag of its version, `"3"`. A computed answer has a tag made
from everything it was computed from.
"""

import hashlib
import re
from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends, Header, HTTPException, Response

from service.errors import PreconditionMissing, StaleVersion

DIGEST_CHARACTERS = 32

_TAG = re.compile(r'(?:W/)?"[^"]*"')
_VERSION_TAG = re.compile(r'"([1-9][0-9]{0,17})(?:-[0-9a-f]+)?"')


def version_etag(version: int, *computed: str) -> str:
    """Return the strong tag of a version, shown together with what was `computed` from it.

    The computed part changes the tag, so that nobody holds on to an old one; If-Match
    looks at the version alone.

    >>> version_etag(3)
    '"3"'
    """
    if not computed:
        return f'"{version}"'
    return f'"{version}-{content_etag(*computed)[1:9]}"'


def content_etag(*parts: bytes | str | int) -> str:
    """Return the strong tag of an answer from what it consists of or was computed from."""
    digest = hashlib.sha256()
    for part in parts:
        data = part if isinstance(part, bytes) else str(part).encode()
        # The length keeps ("ab", "c") and ("a", "bc") apart.
        digest.update(len(data).to_bytes(8))
        digest.update(data)
    return f'"{digest.hexdigest()[:DIGEST_CHARACTERS]}"'


@dataclass(frozen=True, slots=True)
class Validators:
    """What the caller already holds, and the answer that is being made."""

    response: Response
    held_tags: str

    def send(self, etag: str) -> None:
        """Put the tag on the answer; end with 304 when the caller holds this answer already.

        Call it before the costly part of the work, after Cache-Control and Vary are set.
        """
        self.response.headers["ETag"] = etag
        held = {tag.removeprefix("W/") for tag in _TAG.findall(self.held_tags)}
        if self.held_tags.strip() == "*" or etag in held:
            raise HTTPException(304, headers=dict(self.response.headers))


@dataclass(frozen=True, slots=True)
class ExpectedVersion:
    """The versions that the caller is ready to replace."""

    versions: frozenset[int]

    def require(self, current: int) -> int:
        """Return the current version if the caller means it, or raise `StaleVersion`."""
        if current not in self.versions:
            raise StaleVersion(current)
        return current


def read_validators(
    response: Response,
    if_none_match: Annotated[
        str, Header(description="ETag of the answer that you hold; 304 when it is still good.")
    ] = "",
) -> Validators:
    """Read If-None-Match."""
    return Validators(response, if_none_match)


def read_expected_version(
    if_match: Annotated[
        str | None,
        Header(description="ETag of the version that you mean to change; needed."),
    ] = None,
) -> ExpectedVersion:
    """Read If-Match; an asterisk names no version and is refused like a missing header."""
    if if_match is None or if_match.strip() in ("", "*"):
        raise PreconditionMissing
    tags = _TAG.findall(if_match)
    found = (_VERSION_TAG.fullmatch(tag) for tag in tags)
    return ExpectedVersion(frozenset(int(match[1]) for match in found if match))


ValidatorsDep = Annotated[Validators, Depends(read_validators)]
ExpectedVersionDep = Annotated[ExpectedVersion, Depends(read_expected_version)]
