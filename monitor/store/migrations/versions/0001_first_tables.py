"""The first tables: the book, the alerts, the readings and their rollups."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    _sensors_and_sheets()
    _layups_and_batches()
    _stays_and_marks()
    _corrections_and_alerts()
    _readings()


def _id() -> sa.Column[int]:
    return sa.Column("id", sa.Integer, nullable=False)


def _sensors_and_sheets() -> None:
    op.create_table(
        "sensors",
        _id(),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("port", sa.Text, nullable=False),
        sa.Column("unit", sa.Text),
        sa.Column("format", sa.Text),
        sa.Column("identity", sa.Text),
        sa.PrimaryKeyConstraint("id", name="pk_sensors"),
        sa.UniqueConstraint("name", name="uq_sensors_name"),
    )
    op.create_table(
        "kept_sheets",
        _id(),
        sa.Column("stem", sa.Text, nullable=False),
        sa.Column("text", sa.Text, nullable=False),
        sa.Column("kept_at", sa.BigInteger, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_kept_sheets"),
    )
    op.create_index("ix_kept_sheets_stem", "kept_sheets", ["stem"])


def _layups_and_batches() -> None:
    op.create_table(
        "layups",
        _id(),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("what", sa.Text, nullable=False),
        sa.Column("sheet_id", sa.Integer, nullable=False),
        sa.Column("on", sa.Text),
        sa.Column("safety", sa.Boolean, nullable=False, server_default=sa.false()),
        sa.Column("added_at", sa.BigInteger),
        sa.Column("ended_at", sa.BigInteger),
        sa.PrimaryKeyConstraint("id", name="pk_layups"),
        sa.ForeignKeyConstraint(["sheet_id"], ["kept_sheets.id"], name="fk_layups_sheet_id"),
    )
    still_open = sa.text("ended_at IS NULL")
    op.create_index(
        "uq_layups_open_number",
        "layups",
        ["number"],
        unique=True,
        sqlite_where=still_open,
        postgresql_where=still_open,
    )
    op.create_table(
        "batches",
        _id(),
        sa.Column("layup_id", sa.Integer, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("role", sa.Text, nullable=False),
        sa.Column("sheet_id", sa.Integer, nullable=False),
        sa.Column("mixed_at", sa.BigInteger, nullable=False),
        sa.Column("give_or_take", sa.Double, nullable=False),
        sa.Column("resin_g", sa.Double),
        sa.Column("catalyst_g", sa.Double),
        sa.Column("hardener_g", sa.Double),
        sa.Column("scale_step_g", sa.Double),
        sa.Column("thickness_mm", sa.Double),
        sa.Column("waxed", sa.Boolean, nullable=False, server_default=sa.false()),
        sa.Column("counts_on", sa.Text),
        sa.PrimaryKeyConstraint("id", name="pk_batches"),
        sa.UniqueConstraint("layup_id", "name", name="uq_batches_layup_id"),
        sa.ForeignKeyConstraint(["layup_id"], ["layups.id"], name="fk_batches_layup_id"),
        sa.ForeignKeyConstraint(["sheet_id"], ["kept_sheets.id"], name="fk_batches_sheet_id"),
    )


def _stays_and_marks() -> None:
    op.create_table(
        "stays",
        _id(),
        sa.Column("layup_id", sa.Integer, nullable=False),
        sa.Column("batch_id", sa.Integer),
        sa.Column("sensor_id", sa.Integer, nullable=False),
        sa.Column("channel", sa.Text, nullable=False),
        sa.Column("nearness", sa.Text, nullable=False),
        sa.Column("since", sa.BigInteger, nullable=False),
        sa.Column("until", sa.BigInteger),
        sa.PrimaryKeyConstraint("id", name="pk_stays"),
        sa.ForeignKeyConstraint(["layup_id"], ["layups.id"], name="fk_stays_layup_id"),
        sa.ForeignKeyConstraint(["batch_id"], ["batches.id"], name="fk_stays_batch_id"),
        sa.ForeignKeyConstraint(["sensor_id"], ["sensors.id"], name="fk_stays_sensor_id"),
    )
    op.create_index("ix_stays_layup_id", "stays", ["layup_id"])
    op.create_table(
        "marks",
        _id(),
        sa.Column("layup_id", sa.Integer, nullable=False),
        sa.Column("batch_id", sa.Integer),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("at", sa.BigInteger, nullable=False),
        sa.Column("note", sa.Text),
        sa.PrimaryKeyConstraint("id", name="pk_marks"),
        sa.ForeignKeyConstraint(["layup_id"], ["layups.id"], name="fk_marks_layup_id"),
        sa.ForeignKeyConstraint(["batch_id"], ["batches.id"], name="fk_marks_batch_id"),
    )
    op.create_index("ix_marks_layup_id", "marks", ["layup_id"])


def _corrections_and_alerts() -> None:
    op.create_table(
        "corrections",
        _id(),
        sa.Column("entry", sa.Text, nullable=False),
        sa.Column("field", sa.Text, nullable=False),
        sa.Column("old_value", sa.Text),
        sa.Column("new_value", sa.Text),
        sa.Column("corrected_at", sa.BigInteger, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_corrections"),
    )
    op.create_index("ix_corrections_entry", "corrections", ["entry"])
    op.create_table(
        "alerts",
        _id(),
        sa.Column("rule", sa.Text, nullable=False),
        sa.Column("key", sa.Text, nullable=False),
        sa.Column("began_at", sa.BigInteger, nullable=False),
        sa.Column("raised_at", sa.BigInteger, nullable=False),
        sa.Column("parts", sa.Text, nullable=False),
        sa.Column("fact", sa.Text, nullable=False),
        sa.Column("action", sa.Text, nullable=False),
        sa.Column("cleared_at", sa.BigInteger),
        sa.Column("seen_at", sa.BigInteger),
        sa.PrimaryKeyConstraint("id", name="pk_alerts"),
        sa.UniqueConstraint("rule", "key", "began_at", name="uq_alerts_rule"),
    )
    op.create_index("ix_alerts_raised_at", "alerts", ["raised_at"])


def _readings() -> None:
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
        sqlite_with_rowid=False,
    )
    for name in ("minute_rollups", "hour_rollups"):
        op.create_table(
            name,
            sa.Column("sensor_id", sa.Integer, nullable=False),
            sa.Column("start_us", sa.BigInteger, nullable=False),
            sa.Column("n_all", sa.Integer, nullable=False),
            *_rolled("temperature_c"),
            *_rolled("humidity_pct"),
            *_rolled("surface_c"),
            sa.PrimaryKeyConstraint("sensor_id", "start_us", name=f"pk_{name}"),
            sa.ForeignKeyConstraint(["sensor_id"], ["sensors.id"], name=f"fk_{name}_sensor_id"),
            sqlite_with_rowid=False,
        )


def _rolled(quantity: str) -> tuple[sa.Column[int] | sa.Column[float], ...]:
    return (
        sa.Column(f"{quantity}_n", sa.Integer, nullable=False),
        sa.Column(f"{quantity}_sum", sa.Double),
        sa.Column(f"{quantity}_min", sa.Double),
        sa.Column(f"{quantity}_max", sa.Double),
    )
