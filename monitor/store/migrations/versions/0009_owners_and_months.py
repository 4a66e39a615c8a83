"""Who reads a sensor, where raw readings were let go, and readings by the month on a server."""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"


def upgrade() -> None:
    op.add_column("sensors", sa.Column("owner", sa.Text))
    op.create_table(
        "let_go",
        sa.Column("sensor_id", sa.Integer, nullable=False),
        sa.Column("first_us", sa.BigInteger, nullable=False),
        sa.Column("end_us", sa.BigInteger, nullable=False),
        sa.PrimaryKeyConstraint("sensor_id", "first_us", name="pk_let_go"),
        sa.ForeignKeyConstraint(["sensor_id"], ["sensors.id"], name="fk_let_go_sensor_id"),
    )
    if op.get_bind().dialect.name == "postgresql":
        _readings_by_the_month()


def _readings_by_the_month() -> None:
    # No version before this one could use a server, so there is nothing in it.
    op.drop_table("readings")
    op.create_table(
        "readings",
        sa.Column("sensor_id", sa.Integer, nullable=False),
        sa.Column("at_us", sa.BigInteger, nullable=False),
        sa.Column("temperature_c", sa.Double),
        sa.Column("humidity_pct", sa.Double),
        sa.Column("surface_c", sa.Double),
        sa.Column("flags", sa.BigInteger, nullable=False),
        sa.Column("raw", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("sensor_id", "at_us", name="pk_readings"),
        sa.ForeignKeyConstraint(["sensor_id"], ["sensors.id"], name="fk_readings_sensor_id"),
        postgresql_partition_by="RANGE (at_us)",
    )
