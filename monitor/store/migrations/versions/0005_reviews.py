"""Reviews of what stayed tacky, as they were given."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    op.create_table(
        "reviews",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("layup_id", sa.Integer, nullable=False),
        sa.Column("batch_id", sa.Integer),
        sa.Column("reviewed_at", sa.BigInteger, nullable=False),
        sa.Column("answers", sa.Text, nullable=False),
        sa.Column("findings", sa.Text, nullable=False),
        sa.Column("lines", sa.Text, nullable=False),
        sa.Column("give_up_by", sa.BigInteger, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_reviews"),
        sa.ForeignKeyConstraint(["layup_id"], ["layups.id"], name="fk_reviews_layup_id"),
        sa.ForeignKeyConstraint(["batch_id"], ["batches.id"], name="fk_reviews_batch_id"),
    )
    op.create_index("ix_reviews_layup_id", "reviews", ["layup_id"])
