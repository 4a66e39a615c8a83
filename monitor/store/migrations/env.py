"""Run by alembic: take the steps on the connection, and in the transaction, of whoever asks."""

from alembic import context

from monitor.store.schema import metadata

context.configure(connection=context.config.attributes["connection"], target_metadata=metadata)
with context.begin_transaction():
    context.run_migrations()
