"""Alembic's environment; burnplan hands it a connection in a transaction.

For ``alembic revision --autogenerate`` and ``alembic check`` from a checkout,
where no book is open, an empty one is made in memory at the newest schema.
"""

from typing import Literal

from alembic import context
from alembic.migration import MigrationContext
from alembic.operations import Operations
from sqlalchemy import Connection, create_engine

from burnplan.ledger.models import Record
from burnplan.ledger.types import Money, UtcDateTime


def plain_type(kind: str, item: object, _autogen: object) -> str | Literal[False]:
    """Write our column types as what they are in the database, whatever becomes of them."""
    if kind == "type" and isinstance(item, Money | UtcDateTime):
        return "sa.BigInteger()" if isinstance(item, Money) else "sa.DateTime()"
    return False


def run(connection: Connection) -> None:
    """Run the migrations on a connection."""
    context.configure(
        connection=connection,
        target_metadata=Record.metadata,
        render_as_batch=True,
        render_item=plain_type,
    )
    context.run_migrations()


given = context.config.attributes.get("connection")
if given is not None:
    run(given)
else:
    with create_engine("sqlite://").begin() as scratch:
        # Alembic cannot run one command inside another: apply the scripts by hand.
        at_head = MigrationContext.configure(scratch)
        with Operations.context(at_head):
            for script in reversed(list(context.script.walk_revisions())):
                script.module.upgrade()
        at_head.stamp(context.script, "head")
        run(scratch)
