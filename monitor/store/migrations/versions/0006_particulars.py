"""What a part is of, where it is laid up, by whom, and of what."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"


def upgrade() -> None:
    for name in ("boat", "place", "person", "laminate"):
        op.add_column("layups", sa.Column(name, sa.Text))
