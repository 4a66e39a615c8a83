"""Who may open the pages from another machine: passcodes, and the phones that gave one."""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"


def upgrade() -> None:
    op.create_table(
        "passcodes",
        sa.Column("leave", sa.Text, nullable=False),
        sa.Column("salt", sa.Text, nullable=False),
        sa.Column("hash", sa.Text, nullable=False),
        sa.Column("set_at", sa.BigInteger, nullable=False),
        sa.PrimaryKeyConstraint("leave", name="pk_passcodes"),
    )
    op.create_table(
        "sign_ins",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("token_hash", sa.Text, nullable=False),
        sa.Column("leave", sa.Text, nullable=False),
        sa.Column("device", sa.Text, nullable=False),
        sa.Column("made_at", sa.BigInteger, nullable=False),
        sa.Column("seen_at", sa.BigInteger, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_sign_ins"),
        sa.UniqueConstraint("token_hash", name="uq_sign_ins_token_hash"),
    )
