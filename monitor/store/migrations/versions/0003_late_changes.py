"""Changes behind a sensor's newest reading, for whoever keeps what the readings added up to."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    op.create_table(
        "late_changes",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("sensor_id", sa.Integer, nullable=False),
        sa.Column("first_us", sa.BigInteger, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_late_changes"),
        sa.ForeignKeyConstraint(["sensor_id"], ["sensors.id"], name="fk_late_changes_sensor_id"),
    )
