"""The error tree: what can go wrong, said as sentences, with no idea of HTTP.

ServiceError
├── NotFound            the thing asked for is not here
├── Conflict            the request meets another state than it assumed
├── RuleBroken          the request is understood and cannot be done
│   └── InvalidInput    a field is outside its limit; names field and limit
│       └── RequestRefused  it asks to hide, imitate or mislead
├── PreconditionMissing a change was asked for without saying of which version
├── StaleVersion        the version named is not the current one
└── Unavailable         it cannot be done now; later it can
"""

from dataclasses import dataclass, replace


class ServiceError(Exception):
    """Base of every error that a caller can do something about."""

    @property
    def message(self) -> str:
        """The sentence for people."""
        return str(self)


class NotFound(ServiceError):
    """The thing asked for is not here."""


class Conflict(ServiceError):
    """The request meets another state than it assumed."""


class RuleBroken(ServiceError):
    """The request is understood and cannot be done."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldProblem:
    """One wrong value: where it stands, and which limit it breaks."""

    pointer: str
    """JSON pointer (RFC 6901) into the body, or the name of a query parameter."""
    code: str
    """Stable word for the kind of problem."""
    detail: str
    """The sentence for people; names the limit."""


class InvalidInput(RuleBroken):
    """One or more fields are outside their limits."""

    def __init__(self, *problems: FieldProblem) -> None:
        self.problems = problems
        super().__init__("; ".join(problem.detail for problem in problems))

    def below(self, pointer: str) -> "InvalidInput":
        """Return the error of a value that stands at a place inside a body."""
        return InvalidInput(
            *(replace(each, pointer=pointer + each.pointer) for each in self.problems)
        )


class RequestRefused(InvalidInput):
    """It asks for help to hide, imitate or mislead; there is none, not in part either."""


class PreconditionMissing(ServiceError):
    """A change was asked for without naming the version it is meant for."""

    def __init__(self) -> None:
        super().__init__("Send If-Match with the ETag of the version that you mean to change.")


class StaleVersion(ServiceError):
    """The version named is not the current one; there may be none at all."""

    def __init__(self, current: int | None) -> None:
        super().__init__(
            "There is nothing here to replace; send it without If-Match."
            if current is None
            else f"The item has moved on; its current version is {current}. Read it again."
        )


class Unavailable(ServiceError):
    """It cannot be done now; the same request may work later."""
