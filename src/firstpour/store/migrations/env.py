"""Run by Alembic: it works on the connection, and inside the transaction, that opening the store hands over."""

from alembic import context

from firstpour.store.tables import METADATA

context.configure(
    connection=context.config.attributes["connection"], target_metadata=METADATA, transactional_ddl=True
)
with context.begin_transaction():
    context.run_migrations()
