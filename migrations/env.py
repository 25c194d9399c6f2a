"""Alembic's environment; burnplan hands it a connection in a transaction."""

from alembic import context
from sqlalchemy import create_engine

from burnplan.ledger.models import Record


def run() -> None:
    """Run the migrations on the connection given, or an empty one in memory.

    The second is for ``alembic revision --autogenerate`` and ``alembic check``
    from a checkout, where no book is open.
    """
    connection = context.config.attributes.get("connection")
    if connection is None:
        with create_engine("sqlite://").begin() as scratch:
            context.configure(
                connection=scratch, target_metadata=Record.metadata, render_as_batch=True
            )
            context.run_migrations()
        return
    context.configure(connection=connection, target_metadata=Record.metadata, render_as_batch=True)
    context.run_migrations()


run()
