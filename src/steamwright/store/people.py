"""People, guest links and log-ins. Passwords arrive here hashed; words of sessions and links are kept as hashes only."""

from __future__ import annotations

import hashlib
import uuid

from sqlalchemy import delete, func, select
from sqlalchemy.orm import Session

from steamwright.errors import InputError
from steamwright.store.database import Database
from steamwright.store.errors import EndedError, NotKeptError
from steamwright.store.model import Account, GuestLink, LogIn, Role
from steamwright.store.tables import AccountTable, GuestLinkTable, JobTable, SessionTable


class People:
    """Who may do what."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def add(self, name: str, role: Role, password_hash: str) -> Account:
        """Add a person."""
        with self._database.writing() as session:
            if session.get(AccountTable, name) is not None:
                raise InputError(f"there is an account “{name}” already", path="name", hint="choose another name")
            session.add(AccountTable(name=name, role=role, password_hash=password_hash, active=True))
        return Account(name, role, True)

    def change(self, name: str, role: Role | None = None, active: bool | None = None, password_hash: str | None = None) -> Account:
        """Change a person's role, word or right to log in; ends his log-ins. One office account always stays."""
        with self._database.writing() as session:
            accounts = list(session.scalars(select(AccountTable).order_by(AccountTable.name).with_for_update()))
            kept = next((a for a in accounts if a.name == name), None)
            if kept is None:
                raise NotKeptError(f"there is no account “{name}”", path="name")
            kept.role = kept.role if role is None else role
            kept.active = kept.active if active is None else active
            kept.password_hash = kept.password_hash if password_hash is None else password_hash
            if not any(a.active and a.role == "office" for a in accounts):
                raise InputError("nobody of the office could log in any more", path="role", hint="give somebody else the role office first")
            session.execute(delete(SessionTable).where(SessionTable.account == name))
            return _account(kept)

    def accounts(self) -> tuple[Account, ...]:
        """All people by name."""
        with self._database.reading() as session:
            return tuple(_account(a) for a in session.scalars(select(AccountTable).order_by(AccountTable.name)))

    def any_office(self) -> bool:
        """Whether somebody of the office can log in."""
        with self._database.reading() as session:
            count = session.scalar(select(func.count()).select_from(AccountTable)
                                   .where(AccountTable.active.is_(True), AccountTable.role == "office"))
            return bool(count)

    def password_hash(self, name: str) -> str | None:
        """The hash of a person's word, if he may log in."""
        with self._database.reading() as session:
            kept = session.get(AccountTable, name)
            return kept.password_hash if kept is not None and kept.active else None

    def log_in(self, name: str, token: str, csrf: str, ends_s: int, now_s: int) -> None:
        """Begin a person's session, and clear those that ended."""
        with self._database.writing() as session:
            session.execute(delete(SessionTable).where(SessionTable.ends_s <= now_s))
            session.add(SessionTable(token_hash=hashed(token), csrf=csrf, account=name, guest_link=None, ends_s=ends_s))

    def linked_job(self, link_token: str) -> str:
        """The job that a guest link leads to."""
        with self._database.reading() as session:
            return _good_link(session, link_token).job_id

    def log_in_guest(self, link_token: str, token: str, csrf: str, ends_s: int, now_s: int) -> str:
        """Begin a guest's session, which ends no later than his link; the job it may read."""
        with self._database.writing() as session:
            link = _good_link(session, link_token)
            if link.ends_s <= now_s:
                raise EndedError("this link has ended", path="link", hint="ask for a new one")
            ends_s = min(ends_s, link.ends_s)
            session.add(SessionTable(token_hash=hashed(token), csrf=csrf, account=None, guest_link=link.id, ends_s=ends_s))
            return link.job_id

    def log_out(self, token: str) -> None:
        """End a session."""
        with self._database.writing() as session:
            session.execute(delete(SessionTable).where(SessionTable.token_hash == hashed(token)))

    def who(self, token: str, now_s: int) -> LogIn | None:
        """Whose session this is, if it is still good."""
        with self._database.reading() as session:
            found = session.execute(
                select(SessionTable, AccountTable, GuestLinkTable)
                .outerjoin(AccountTable, AccountTable.name == SessionTable.account)
                .outerjoin(GuestLinkTable, GuestLinkTable.id == SessionTable.guest_link)
                .where(SessionTable.token_hash == hashed(token), SessionTable.ends_s > now_s)
            ).one_or_none()
        if found is None:
            return None
        kept, account, link = found
        if link is not None:
            return LogIn(link.label or "guest", "guest", kept.csrf, link.job_id)
        return LogIn(account.name, _account(account).role, kept.csrf) if account is not None and account.active else None

    def add_link(self, job: str, token: str, label: str, by: str, now_s: int, ends_s: int) -> GuestLink:
        """Keep a new guest link."""
        with self._database.writing() as session:
            if session.get(JobTable, job) is None:
                raise NotKeptError(f"there is no job {job}", path="job")
            kept = GuestLinkTable(id=uuid.uuid4().hex, token_hash=hashed(token), job_id=job, label=label, made_by=by, made_s=now_s,
                                  ends_s=ends_s)
            session.add(kept)
            return _link(kept)

    def links(self, job: str) -> tuple[GuestLink, ...]:
        """All guest links of a job."""
        with self._database.reading() as session:
            query = select(GuestLinkTable).where(GuestLinkTable.job_id == job).order_by(GuestLinkTable.made_s, GuestLinkTable.id)
            return tuple(_link(kept) for kept in session.scalars(query))

    def drop_link(self, job: str, link: str) -> None:
        """Take a guest link back, with all sessions begun by it."""
        with self._database.writing() as session:
            kept = session.get(GuestLinkTable, link)
            if kept is None or kept.job_id != job:
                raise NotKeptError("there is no such link", path="link")
            session.execute(delete(SessionTable).where(SessionTable.guest_link == link))
            session.delete(kept)


def hashed(token: str) -> str:
    """Hash a random word, so that who reads the database cannot use it.

    Parameters
    ----------
    token : str
        At least 128 random bits; not for passwords.

    Returns
    -------
    digest : str
        64 hexadecimal digits.

    References
    ----------
    own derivation
    """
    return hashlib.sha256(token.encode()).hexdigest()


def _good_link(session: Session, token: str) -> GuestLinkTable:
    link = session.scalars(select(GuestLinkTable).where(GuestLinkTable.token_hash == hashed(token))).one_or_none()
    if link is None:
        raise NotKeptError("this link is not good any more", path="link", hint="ask for a new one")
    return link


def _account(kept: AccountTable) -> Account:
    roles: dict[str, Role] = {"office": "office", "crew": "crew"}
    return Account(kept.name, roles[kept.role], kept.active)


def _link(kept: GuestLinkTable) -> GuestLink:
    return GuestLink(kept.id, kept.job_id, kept.label, kept.made_by, kept.made_s, kept.ends_s)
