"""Who may open the pages from another machine. Neither passcodes nor tokens are kept as such."""

import hashlib
import hmac
import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import delete, insert, select, update

from monitor.errors import BadInput
from monitor.records import Leave
from monitor.store.engine import Database
from monitor.store.schema import passcodes, sign_ins

SHORTEST, LONGEST = 8, 200
"""Characters of a passcode. A guess costs a tenth of a second, and few are let through."""

COST = 2**15
"""scrypt's N: with blocks of 8, 32 MiB of memory."""

FORGOTTEN = timedelta(days=60)
"""A phone that hasn't been seen for so long signs in again."""

_NOTED_EVERY = timedelta(minutes=10)


@dataclass(frozen=True, slots=True)
class SignIn:
    """A phone or another machine that gave a passcode."""

    id: int
    leave: Leave
    device: str
    made_at: datetime
    seen_at: datetime


class DoorBook:
    """Passcodes, one for each leave, and sign-ins, which can be taken back one by one."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def set_passcode(self, leave: Leave, passcode: str, at: datetime) -> None:
        """A new passcode for a leave; whoever signed in with the old one signs in again.

        Raises BadInput for one that is too short or too long, or that opens for the other leave.
        """
        if not SHORTEST <= len(passcode) <= LONGEST:
            raise BadInput(
                f"A passcode has {SHORTEST} to {LONGEST} characters.",
                "Choose a longer one, or let one be made up: passcode set write --make.",
            )
        if self.leave_by(passcode) not in (None, leave):
            raise BadInput(
                "That passcode is in use for the other one already.", "Choose another one."
            )
        salt = secrets.token_bytes(16)
        values = {"salt": salt.hex(), "hash": _hashed(passcode, salt), "set_at": at}
        self.remove_passcode(leave)
        with self._database.writing() as connection:
            connection.execute(insert(passcodes).values(leave=leave, **values))

    def remove_passcode(self, leave: Leave) -> None:
        """Nobody opens for that leave any more; whoever had is signed out."""
        with self._database.writing() as connection:
            connection.execute(delete(passcodes).where(passcodes.c.leave == leave))
            connection.execute(delete(sign_ins).where(sign_ins.c.leave == leave))

    def given(self) -> tuple[Leave, ...]:
        """Those that a passcode is set for."""
        with self._database.reading() as connection:
            return tuple(connection.execute(select(passcodes.c.leave)).scalars())

    def leave_by(self, passcode: str) -> Leave | None:
        """What a passcode opens for; None: nothing. Takes a tenth of a second for each leave."""
        with self._database.reading() as connection:
            rows = connection.execute(select(passcodes)).all()
        found: Leave | None = None
        for row in rows:
            given = _hashed(passcode[: LONGEST + 1], bytes.fromhex(row.salt))
            if hmac.compare_digest(given, row.hash):
                found = row.leave
        return found

    def sign_in(self, leave: Leave, device: str, at: datetime) -> str:
        """The token of a new sign-in: what its cookie holds. Only its hash is stored."""
        token = secrets.token_urlsafe(32)
        values = {"leave": leave, "device": device[:120], "made_at": at, "seen_at": at}
        with self._database.writing() as connection:
            connection.execute(insert(sign_ins).values(token_hash=_token_hash(token), **values))
        return token

    def signed_in(self, token: str, at: datetime) -> SignIn | None:
        """Whose token it is; None: nobody's, or not seen for too long."""
        query = select(*_SHOWN).where(sign_ins.c.token_hash == _token_hash(token))
        with self._database.reading() as connection:
            row = connection.execute(query).one_or_none()
        if row is None:
            return None
        found = SignIn(*row)
        if at - found.seen_at > FORGOTTEN:
            self.sign_out(found.id)
            return None
        if at - found.seen_at > _NOTED_EVERY:
            seen = update(sign_ins).where(sign_ins.c.id == found.id).values(seen_at=at)
            with self._database.writing() as connection:
                connection.execute(seen)
        return found

    def sign_ins(self) -> tuple[SignIn, ...]:
        """The last seen first."""
        query = select(*_SHOWN).order_by(sign_ins.c.seen_at.desc(), sign_ins.c.id)
        with self._database.reading() as connection:
            return tuple(SignIn(*row) for row in connection.execute(query))

    def sign_out(self, id: int | None = None) -> int:
        """Take back one sign-in, or all of them; how many there were."""
        query = delete(sign_ins)
        if id is not None:
            query = query.where(sign_ins.c.id == id)
        with self._database.writing() as connection:
            return connection.execute(query).rowcount


_SHOWN = (
    sign_ins.c.id,
    sign_ins.c.leave,
    sign_ins.c.device,
    sign_ins.c.made_at,
    sign_ins.c.seen_at,
)


def made_up() -> str:
    """A passcode to read out across a shed: twelve digits in threes."""
    return " ".join(f"{secrets.randbelow(1000):03}" for _ in range(4))


def _hashed(passcode: str, salt: bytes) -> str:
    """scrypt (RFC 7914); spaces don't matter."""
    plain = "".join(passcode.split()).encode()
    return hashlib.scrypt(plain, salt=salt, n=COST, r=8, p=1, maxmem=2**26).hex()


def _token_hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()
