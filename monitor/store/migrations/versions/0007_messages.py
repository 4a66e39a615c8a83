"""How loud an alert is, when it is asked again, why it was withdrawn; and its messages."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"


def upgrade() -> None:
    op.add_column(
        "alerts", sa.Column("aloud", sa.Text, nullable=False, server_default=sa.text("'page'"))
    )
    op.add_column("alerts", sa.Column("again_at", sa.BigInteger))
    op.add_column("alerts", sa.Column("withdrawn", sa.Text))
    op.create_table(
        "messages",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("alert_id", sa.Integer, nullable=False),
        sa.Column("channel", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("text", sa.Text, nullable=False),
        sa.Column("made_at", sa.BigInteger, nullable=False),
        sa.Column("due_at", sa.BigInteger, nullable=False),
        sa.Column("tries", sa.Integer, nullable=False),
        sa.Column("begun_at", sa.BigInteger),
        sa.Column("sent_at", sa.BigInteger),
        sa.Column("dropped_at", sa.BigInteger),
        sa.Column("trouble", sa.Text),
        sa.PrimaryKeyConstraint("id", name="pk_messages"),
        sa.ForeignKeyConstraint(["alert_id"], ["alerts.id"], name="fk_messages_alert_id"),
    )
    op.create_index("ix_messages_alert_id", "messages", ["alert_id"])
    op.create_index("ix_messages_channel", "messages", ["channel"])
