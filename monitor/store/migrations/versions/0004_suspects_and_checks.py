"""What was doubted of a sensor over a time, and what it was held against."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    op.create_table(
        "suspect_spans",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("sensor_id", sa.Integer, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("since", sa.BigInteger, nullable=False),
        sa.Column("until", sa.BigInteger),
        sa.Column("found_at", sa.BigInteger, nullable=False),
        sa.Column("reply", sa.Text),
        sa.Column("replied_at", sa.BigInteger),
        sa.PrimaryKeyConstraint("id", name="pk_suspect_spans"),
        sa.ForeignKeyConstraint(["sensor_id"], ["sensors.id"], name="fk_suspect_spans_sensor_id"),
    )
    op.create_index("ix_suspect_spans_sensor_id", "suspect_spans", ["sensor_id"])
    op.create_table(
        "sensor_checks",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("sensor_id", sa.Integer, nullable=False),
        sa.Column("standard", sa.Text, nullable=False),
        sa.Column("channel", sa.Text, nullable=False),
        sa.Column("checked_at", sa.BigInteger, nullable=False),
        sa.Column("temperature_c", sa.Double, nullable=False),
        sa.Column("read_pct", sa.Double),
        sa.Column("true_pct", sa.Double),
        sa.Column("read_c", sa.Double),
        sa.Column("true_c", sa.Double),
        sa.PrimaryKeyConstraint("id", name="pk_sensor_checks"),
        sa.ForeignKeyConstraint(["sensor_id"], ["sensors.id"], name="fk_sensor_checks_sensor_id"),
    )
    op.create_index("ix_sensor_checks_sensor_id", "sensor_checks", ["sensor_id"])
