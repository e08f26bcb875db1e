"""A receiver on this machine that answers as it is told and keeps what it was sent."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import Thread

HOST = "127.0.0.1"


@dataclass
class Receiver:
    """What came, and what is answered: the statuses in turn, the last one for good."""

    statuses: list[int]
    came: list[tuple[dict[str, str], bytes]] = field(default_factory=list)
    url: str = ""

    def answer(self, headers: dict[str, str], body: bytes) -> int:
        self.came.append((headers, body))
        return self.statuses.pop(0) if len(self.statuses) > 1 else self.statuses[0]


@contextmanager
def receiver(*statuses: int) -> Iterator[Receiver]:
    told = Receiver(statuses=list(statuses))

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            status = told.answer({k.lower(): v for k, v in self.headers.items()}, body)
            self.send_response(status)
            self.send_header("Location", told.url + "/elsewhere")
            self.end_headers()
            self.wfile.write(b"Answered by the test\x00")

        def log_message(self, *_: object) -> None:
            """Say nothing."""

    server = ThreadingHTTPServer((HOST, 0), Handler)
    told.url = f"http://{HOST}:{server.server_port}/hook"
    thread = Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
    thread.start()
    try:
        yield told
    finally:
        server.shutdown()
        server.server_close()
        thread.join()
