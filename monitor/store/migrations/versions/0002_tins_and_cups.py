"""Which tins and which cup a batch came from."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    for name in ("resin_tin", "catalyst_tin", "cup"):
        op.add_column("batches", sa.Column(name, sa.Text))
