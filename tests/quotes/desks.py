"""Desks that write into quotes over HTTP and remember everything that was acknowledged.

An answer that does not come is asked for again with the same Idempotency-Key until there is
one: then the desk knows what was written, and what was refused and so was not.
"""

import json
import time
from collections import Counter
from dataclasses import dataclass, field
from http.client import HTTPConnection, HTTPException
from random import Random
from threading import Event
from typing import Any
from uuid import uuid4

from tests.quotes.made import ADDRESS, Json, content
from tests.served import HOST

ANSWER_WITHIN_S = 10.0
GIVE_UP_S = 45.0
STALE, CONFLICT, UNAVAILABLE = 412, 409, 503
DISCOUNT = "10"
LABOUR_HOURS = "1.5"


@dataclass(frozen=True, slots=True)
class Line:
    """A line that a desk asked for."""

    title: str
    hour_cents: int


@dataclass(frozen=True, slots=True)
class Written:
    """One write that was acknowledged."""

    quote_id: int
    version: int
    event: str
    lines: tuple[Line, ...] = ()
    """Which it added."""


@dataclass
class Desk:
    """One of those who write at the same time; each is a thread."""

    name: str
    ports: list[int]
    random: Random
    quotes: list[int]
    """What desks work on; shared."""
    begins: bool
    """Whether it begins quotes of its own."""
    written: list[Written] = field(default_factory=list)
    seen: Counter[str] = field(default_factory=Counter)

    def work(self, over: Event) -> None:
        """Write until it is over."""
        while not over.is_set():
            if not self.quotes or (self.begins and self.random.random() < 0.2):
                self.begin()
            else:
                self._go_on(self.random.choice(self.quotes))

    def begin(self) -> None:
        """Begin a quote, or copy one."""
        if self.quotes and self.random.random() < 0.3:
            body = {"by": self.name, "valid_until": "2099-12-31"}
            answer = self.ask("POST", f"/{self.random.choice(self.quotes)}/duplicates", body)
        else:
            wanted = content(lines=[_on_the_wire(self._line())], discount_percent=DISCOUNT)
            answer = self.ask("POST", "", {"by": self.name, "content": wanted})
        assert answer is not None
        lines = tuple(map(_read, answer["content"]["lines"]))
        self._remember(answer, "created", *lines)
        self.quotes.append(answer["id"])

    def _go_on(self, quote_id: int) -> None:
        quote = self.read(f"/{quote_id}")
        if quote["state"] == "draft":
            self._draft(quote)
        elif quote["state"] == "issued" and self.random.random() < 0.5:
            verb, event = self.random.choice([("accept", "accepted"), ("decline", "declined")])
            self._move(quote, verb, event)
        else:
            self._move(quote, "revisions", "revised")

    def _draft(self, quote: Json) -> None:
        if self.random.random() < 0.6:
            line = self._line()
            lines = [*quote["content"]["lines"], _on_the_wire(line)]
            patch = {"by": self.name, "content": {"lines": lines}}
            if answer := self.ask("PATCH", f"/{quote['id']}", patch, version=quote["version"]):
                self._remember(answer, "edited", line)
        elif quote["declaration"] is None:
            words = {"name": "Demo Customer", "text": quote["declaration_text"]}
            self._move(quote, "declaration", "use_declared", **words)
        else:
            self._move(quote, "issue", "issued")

    def _move(self, quote: Json, verb: str, event: str, **more: str) -> None:
        body = {"by": self.name, **more}
        path = f"/{quote['id']}/{verb}"
        if answer := self.ask("POST", path, body, version=quote["version"]):
            self._remember(answer, event)

    def _remember(self, answer: Json, event: str, *lines: Line) -> None:
        self.written.append(Written(answer["id"], answer["version"], event, lines))

    def _line(self) -> Line:
        return Line(f"{self.name}, {uuid4().hex[:8]}", self.random.randrange(1, 50_000))

    def ask(self, method: str, path: str, body: Json, *, version: int | None = None) -> Json | None:
        """Send one write until it is answered; nothing where it was refused."""
        headers = {"Idempotency-Key": uuid4().hex, "Content-Type": "application/json"}
        if method == "PATCH":
            headers["Content-Type"] = "application/merge-patch+json"
        if version is not None:
            headers["If-Match"] = f'"{version}"'
        status, answer = self._until_answered(method, path, json.dumps(body), headers)
        if status in (STALE, CONFLICT):
            return None
        assert status in (200, 201), answer
        return dict(answer)

    def read(self, path: str) -> Any:  # noqa: ANN401 - any JSON.
        """Return what is told at an address of quotes."""
        status, answer = self._until_answered("GET", path, None, {})
        assert status == 200, answer
        return answer

    def _until_answered(
        self, method: str, path: str, body: str | None, headers: dict[str, str]
    ) -> tuple[int, Any]:
        give_up = time.monotonic() + GIVE_UP_S
        while time.monotonic() < give_up:
            connection = HTTPConnection(
                HOST, self.random.choice(self.ports), timeout=ANSWER_WITHIN_S
            )
            try:
                connection.request(method, ADDRESS + path, body, headers)
                answer = connection.getresponse()
                told = json.loads(answer.read())
            except ConnectionRefusedError:
                time.sleep(0.05)
            except (OSError, HTTPException):
                self.seen["lost"] += 1
            else:
                # A conflict that passes says when to come again.
                if answer.status != UNAVAILABLE and "Retry-After" not in answer.headers:
                    self.seen["replayed"] += "Idempotent-Replayed" in answer.headers
                    return answer.status, told
                time.sleep(0.05)
            finally:
                connection.close()
        msg = f"{method} {path} is not answered"
        raise TimeoutError(msg)


def seeded(seed: float) -> Random:
    """Return a source of what may be any, the same each time."""
    return Random(seed)  # noqa: S311 - No secret hangs on it.


def total_of(lines: list[Line], kit_cents: int) -> str:
    """Return what a quote of these desks comes to, in whole numbers, halves rounded up.

    A line is an hour and a half at its price; a tenth of all of them and the kit goes off.
    """
    whole = kit_cents + sum((3 * line.hour_cents + 1) // 2 for line in lines)
    total = whole - (whole + 5) // 10
    return f"{total // 100}.{total % 100:02}"


def _on_the_wire(line: Line) -> Json:
    price = f"{line.hour_cents // 100}.{line.hour_cents % 100:02}"
    return {
        "kind": "labour",
        "title": line.title,
        "quantity": LABOUR_HOURS,
        "unit_price": {"amount": price, "currency": "USD"},
    }


def _read(line: Json) -> Line:
    return Line(line["title"], int(line["unit_price"]["amount"].replace(".", "")))
