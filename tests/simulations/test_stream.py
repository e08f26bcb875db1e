"""A stream of events against a real server: it must not keep the process from stopping."""

import os
import shutil
import signal
import subprocess
import sys
from contextlib import closing
from http.client import HTTPConnection
from pathlib import Path
from time import monotonic

from service.commands.serving import SHUTDOWN_S
from service.database import Database
from tests.jobs.counting import added, count_order
from tests.served import HOST, sqlite_url, tcp_listener, wait_until_ready

KITWRIGHT = str(Path(sys.executable).parent / "kitwright")


def test_a_server_that_is_asked_to_stop_ends_its_streams_at_once(
    tmp_path: Path, sqlite_template: Path
) -> None:
    """Without the early word, uvicorn would wait for the connection until its own limit."""
    shutil.copy(sqlite_template, tmp_path / "kw.db")
    url = sqlite_url(tmp_path / "kw.db")
    database = Database.open(url, pool_size=1)
    job = added(database, count_order())
    database.close()
    with tcp_listener() as listener:
        port = listener.getsockname()[1]
    environment = {**os.environ, "KITWRIGHT_DATABASE_URL": url}
    process = subprocess.Popen(  # noqa: S603 - Ours.
        [KITWRIGHT, "serve", "--port", str(port)], env=environment, stderr=subprocess.DEVNULL
    )
    try:
        wait_until_ready(port)
        with closing(HTTPConnection(HOST, port, timeout=30.0)) as connection:
            connection.request("GET", f"/v1/jobs/{job.id}/events")
            with connection.getresponse() as stream:
                assert stream.readline() == b"event: queued\n"
                asked_at = monotonic()
                process.send_signal(signal.SIGTERM)
                rest = stream.read()
        process.wait(30.0)
    finally:
        process.kill()
        process.wait()

    assert monotonic() - asked_at < SHUTDOWN_S
    assert b"id: 1\n" in rest
