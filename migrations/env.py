"""What alembic runs: on the connection that the program hands over, or on a developer's store.

A developer names a store with ``alembic -x store=PATH ...``.
"""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import context

from drillbox.store.sql import Instant
from drillbox.store.tables import metadata


def plain_types(kind: str, item: Any, _autogenerate: Any) -> str | bool:
    """Write types of our own and of SQLModel as SQLAlchemy's plain ones into new revisions."""
    if kind != "type":
        return False
    if isinstance(item, Instant):
        return "sa.DateTime(timezone=True)"
    if isinstance(item, sa.JSON):
        return "sa.JSON()"
    if isinstance(item, sa.String):
        return "sa.String()"
    if isinstance(item, sa.types.TypeDecorator):
        return f"sa.{item.impl!r}"
    return False


def run(connection: sa.Connection) -> None:
    """Run the revisions in the transaction of the connection; it is begun if it wasn't."""
    context.configure(
        connection=connection,
        target_metadata=metadata,
        render_item=plain_types,
        compare_server_default=True,
        render_as_batch=connection.dialect.name == "sqlite",
        transactional_ddl=True,
    )
    with context.begin_transaction():
        context.run_migrations()


handed = context.config.attributes.get("connection")
if handed is not None:
    run(handed)
else:
    from drillbox.store.opening import engine_for

    place = context.get_x_argument(as_dictionary=True)["store"]
    with engine_for(place).begin() as own:
        run(own)
