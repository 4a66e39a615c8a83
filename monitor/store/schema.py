"""The tables. A table of the book has exactly the fields of its record as columns."""

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Double,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
    false,
)

from monitor.records import (
    Aloud,
    Channel,
    Leave,
    MarkKind,
    MessageKind,
    Nearness,
    Reply,
    Role,
    SuspectKind,
)
from monitor.store.columns import Length, Lines, Moment, Numbers, Word

metadata = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
        "ix": "ix_%(table_name)s_%(column_0_name)s",
    }
)

sensors = Table(
    "sensors",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("name", Text, nullable=False, unique=True),
    Column("port", Text, nullable=False),
    Column("unit", Text),
    Column("format", Text),
    Column("identity", Text),
    Column("owner", Text),
)

kept_sheets = Table(
    "kept_sheets",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("stem", Text, nullable=False, index=True),
    Column("text", Text, nullable=False),
    Column("kept_at", Moment, nullable=False),
)

layups = Table(
    "layups",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("number", Integer, nullable=False),
    Column("what", Text, nullable=False),
    Column("sheet_id", ForeignKey("kept_sheets.id"), nullable=False),
    Column("on", Text),
    Column("safety", Boolean, nullable=False, server_default=false()),
    Column("added_at", Moment),
    Column("ended_at", Moment),
    Column("boat", Text),
    Column("place", Text),
    Column("person", Text),
    Column("laminate", Text),
)

# A number goes back on the roll of tape when its part is done, so only open ones must differ.
_open_number = Index(
    "uq_layups_open_number",
    layups.c.number,
    unique=True,
    sqlite_where=layups.c.ended_at.is_(None),
)

batches = Table(
    "batches",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("layup_id", ForeignKey("layups.id"), nullable=False),
    Column("name", Text, nullable=False),
    Column("role", Word(Role), nullable=False),
    Column("sheet_id", ForeignKey("kept_sheets.id"), nullable=False),
    Column("mixed_at", Moment, nullable=False),
    Column("give_or_take", Length, nullable=False),
    Column("resin_g", Double),
    Column("catalyst_g", Double),
    Column("hardener_g", Double),
    Column("scale_step_g", Double),
    Column("thickness_mm", Double),
    Column("waxed", Boolean, nullable=False, server_default=false()),
    Column("counts_on", Word(Channel)),
    Column("resin_tin", Text),
    Column("catalyst_tin", Text),
    Column("cup", Text),
    UniqueConstraint("layup_id", "name"),
)

stays = Table(
    "stays",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("layup_id", ForeignKey("layups.id"), nullable=False, index=True),
    Column("batch_id", ForeignKey("batches.id")),
    Column("sensor_id", ForeignKey("sensors.id"), nullable=False),
    Column("channel", Word(Channel), nullable=False),
    Column("nearness", Word(Nearness), nullable=False),
    Column("since", Moment, nullable=False),
    Column("until", Moment),
)

marks = Table(
    "marks",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("layup_id", ForeignKey("layups.id"), nullable=False, index=True),
    Column("batch_id", ForeignKey("batches.id")),
    Column("kind", Word(MarkKind), nullable=False),
    Column("at", Moment, nullable=False),
    Column("note", Text),
)

corrections = Table(
    "corrections",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("entry", Text, nullable=False, index=True),
    Column("field", Text, nullable=False),
    Column("old_value", Text),
    Column("new_value", Text),
    Column("corrected_at", Moment, nullable=False),
)

reviews = Table(
    "reviews",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("layup_id", ForeignKey("layups.id"), nullable=False, index=True),
    Column("batch_id", ForeignKey("batches.id")),
    Column("reviewed_at", Moment, nullable=False),
    Column("answers", Lines, nullable=False),
    Column("findings", Lines, nullable=False),
    Column("lines", Lines, nullable=False),
    Column("give_up_by", Moment, nullable=False),
)

alerts = Table(
    "alerts",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("rule", Text, nullable=False),
    Column("key", Text, nullable=False),
    Column("began_at", Moment, nullable=False),
    Column("raised_at", Moment, nullable=False, index=True),
    Column("parts", Numbers, nullable=False),
    Column("fact", Text, nullable=False),
    Column("action", Text, nullable=False),
    Column("cleared_at", Moment),
    Column("seen_at", Moment),
    Column("aloud", Word(Aloud), nullable=False, server_default=Aloud.PAGE.value),
    Column("again_at", Moment),
    Column("withdrawn", Text),
    UniqueConstraint("rule", "key", "began_at"),
)

messages = Table(
    "messages",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("alert_id", ForeignKey("alerts.id"), nullable=False, index=True),
    Column("channel", Text, nullable=False, index=True),
    Column("kind", Word(MessageKind), nullable=False),
    Column("text", Text, nullable=False),
    Column("made_at", Moment, nullable=False),
    Column("due_at", Moment, nullable=False),
    Column("tries", Integer, nullable=False),
    Column("begun_at", Moment),
    Column("sent_at", Moment),
    Column("dropped_at", Moment),
    Column("trouble", Text),
)

suspect_spans = Table(
    "suspect_spans",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("sensor_id", ForeignKey("sensors.id"), nullable=False, index=True),
    Column("kind", Word(SuspectKind), nullable=False),
    Column("since", Moment, nullable=False),
    Column("until", Moment),
    Column("found_at", Moment, nullable=False),
    Column("reply", Word(Reply)),
    Column("replied_at", Moment),
)

sensor_checks = Table(
    "sensor_checks",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("sensor_id", ForeignKey("sensors.id"), nullable=False, index=True),
    Column("standard", Text, nullable=False),
    Column("channel", Word(Channel), nullable=False),
    Column("checked_at", Moment, nullable=False),
    Column("temperature_c", Double, nullable=False),
    Column("read_pct", Double),
    Column("true_pct", Double),
    Column("read_c", Double),
    Column("true_c", Double),
)

# Clustered by sensor and time: a range read walks one stretch of the file.
readings = Table(
    "readings",
    metadata,
    Column("sensor_id", ForeignKey("sensors.id"), primary_key=True),
    Column("at_us", BigInteger, primary_key=True, autoincrement=False),
    Column("temperature_c", Double),
    Column("humidity_pct", Double),
    Column("surface_c", Double),
    Column("flags", BigInteger, nullable=False),
    Column("raw", Text, nullable=False),
    sqlite_with_rowid=False,
)

# Where raw readings were let go by their age: whatever comes in again for it is summed up already.
let_go = Table(
    "let_go",
    metadata,
    Column("sensor_id", ForeignKey("sensors.id"), primary_key=True),
    Column("first_us", BigInteger, primary_key=True, autoincrement=False),
    Column("end_us", BigInteger, nullable=False),
)

passcodes = Table(
    "passcodes",
    metadata,
    Column("leave", Word(Leave), primary_key=True),
    Column("salt", Text, nullable=False),
    Column("hash", Text, nullable=False),
    Column("set_at", Moment, nullable=False),
)

sign_ins = Table(
    "sign_ins",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("token_hash", Text, nullable=False, unique=True),
    Column("leave", Word(Leave), nullable=False),
    Column("device", Text, nullable=False),
    Column("made_at", Moment, nullable=False),
    Column("seen_at", Moment, nullable=False),
)

# Written where readings came, or were doubted, behind the newest one of their sensor.
late_changes = Table(
    "late_changes",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("sensor_id", ForeignKey("sensors.id"), nullable=False),
    Column("first_us", BigInteger, nullable=False),
)

QUANTITIES = ("temperature_c", "humidity_pct", "surface_c")


def _rollup_table(name: str) -> Table:
    """For each bucket: every reading counted, and the good values of each quantity summed up."""
    columns = [
        column
        for quantity in QUANTITIES
        for column in (
            Column(f"{quantity}_n", Integer, nullable=False),
            Column(f"{quantity}_sum", Double),
            Column(f"{quantity}_min", Double),
            Column(f"{quantity}_max", Double),
        )
    ]
    return Table(
        name,
        metadata,
        Column("sensor_id", ForeignKey("sensors.id"), primary_key=True),
        Column("start_us", BigInteger, primary_key=True, autoincrement=False),
        Column("n_all", Integer, nullable=False),
        *columns,
        sqlite_with_rowid=False,
    )


minute_rollups = _rollup_table("minute_rollups")
hour_rollups = _rollup_table("hour_rollups")


def as_on_a_server() -> None:
    """What only a server's tables are; saying it loads the server's dialect, which weighs 4 MB."""
    _open_number.dialect_kwargs["postgresql_where"] = layups.c.ended_at.is_(None)
    readings.dialect_kwargs["postgresql_partition_by"] = "RANGE (at_us)"
