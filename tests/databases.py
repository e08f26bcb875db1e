"""Databases of a server, made for one user and dropped at the end."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from uuid import uuid4

import psycopg
from psycopg import sql
from sqlalchemy import make_url

POSTGRES_URL = os.environ.get(
    "KITWRIGHT_TEST_POSTGRES_URL", "postgresql://postgres@127.0.0.1:5432/postgres"
)


@contextmanager
def postgres_database() -> Iterator[str]:
    """Give the address of an empty database; raises where there is no server."""
    name = sql.Identifier(f"kitwright_test_{uuid4().hex}")
    with psycopg.connect(POSTGRES_URL, autocommit=True, connect_timeout=3) as server:
        server.execute(sql.SQL("CREATE DATABASE {}").format(name))
        url = make_url(POSTGRES_URL).set(database=name.as_string().strip('"'))
        try:
            yield url.render_as_string(hide_password=False)
        finally:
            server.execute(sql.SQL("DROP DATABASE {} WITH (FORCE)").format(name))
