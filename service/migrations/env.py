"""How Alembic reaches the database and learns what the tables should be.

A caller inside the service hands over a connection; the `alembic` command, used to draft
a revision, takes the address from the settings.
"""

from alembic import context
from sqlalchemy import Connection
from sqlmodel import SQLModel

import service.access.tables
import service.catalog.tables
import service.comparisons.tables
import service.compliance.tables
import service.idempotency.tables
import service.install.tables
import service.jobs.tables
import service.kits.tables
import service.quotes.tables
import service.refused.tables
import service.revision
import service.searches.tables
import service.surfaces.tables
import service.webhooks.tables  # noqa: F401 - Imported for their tables, like those above.
from service.database import build_db_engine
from service.settings import get_settings


def run(connection: Connection) -> None:
    """Bring the database behind a connection to the revision that was asked for."""
    context.configure(
        connection=connection,
        target_metadata=SQLModel.metadata,
        render_as_batch=connection.dialect.name == "sqlite",
        compare_server_default=True,
    )
    with context.begin_transaction():
        context.run_migrations()


def main() -> None:
    """Take the connection that was handed over, or make one."""
    given = context.config.attributes.get("connection")
    if given is not None:
        run(given)
        return
    engine = build_db_engine(get_settings().database_url, pool_size=1)
    with engine.begin() as connection:
        run(connection)
    engine.dispose()


main()
