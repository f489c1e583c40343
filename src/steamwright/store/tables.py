"""The tables. Times are seconds since 1970 UTC; what a person typed is kept as the JSON text that came in."""

from __future__ import annotations

from sqlalchemy import BigInteger, Boolean, ForeignKey, Index, Integer, LargeBinary, MetaData, String, Text, UniqueConstraint
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

_NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}


class Base(DeclarativeBase):
    """Base of all tables; constraints have names, so that migrations can speak of them."""

    metadata = MetaData(naming_convention=_NAMES)


class JobTable(Base):
    """One job. ``head`` is the revision that people see, ``last`` the highest number given."""

    __tablename__ = "job"

    id: Mapped[str] = mapped_column(String(32), primary_key=True)
    head: Mapped[int] = mapped_column(Integer)
    last: Mapped[int] = mapped_column(Integer)
    name: Mapped[str] = mapped_column(Text)
    archived: Mapped[bool] = mapped_column(Boolean, default=False)
    touched_s: Mapped[int] = mapped_column(BigInteger, index=True)


class RevisionTable(Base):
    """One saved change; never altered, never removed."""

    __tablename__ = "revision"
    __table_args__ = (UniqueConstraint("job_id", "number"),)

    id: Mapped[int] = mapped_column(Integer, primary_key=True, autoincrement=True)
    job_id: Mapped[str] = mapped_column(ForeignKey("job.id"))
    number: Mapped[int] = mapped_column(Integer)
    based_on: Mapped[int] = mapped_column(Integer)
    aside: Mapped[bool] = mapped_column(Boolean)
    draft: Mapped[str] = mapped_column(Text)
    digest: Mapped[str] = mapped_column(String(64))
    note: Mapped[str] = mapped_column(Text)
    saved_by: Mapped[str] = mapped_column(Text)
    saved_s: Mapped[int] = mapped_column(BigInteger)


class PlanTable(Base):
    """A plan by the hash of what it was made from; shared by all revisions that say the same."""

    __tablename__ = "plan"

    key: Mapped[str] = mapped_column(String(64), primary_key=True)
    finished: Mapped[bool] = mapped_column(Boolean)
    summary: Mapped[str] = mapped_column(Text)
    made_s: Mapped[int] = mapped_column(BigInteger)


class PlanFileTable(Base):
    """A file of a plan. ``place`` keeps the order in which the files were made."""

    __tablename__ = "plan_file"

    plan_key: Mapped[str] = mapped_column(ForeignKey("plan.key"), primary_key=True)
    path: Mapped[str] = mapped_column(String(200), primary_key=True)
    place: Mapped[int] = mapped_column(Integer)
    size: Mapped[int] = mapped_column(BigInteger)
    digest: Mapped[str] = mapped_column(String(64))
    content: Mapped[bytes] = mapped_column(LargeBinary)


class PlannedTable(Base):
    """Which plan a revision has now."""

    __tablename__ = "planned"

    job_id: Mapped[str] = mapped_column(ForeignKey("job.id"), primary_key=True)
    number: Mapped[int] = mapped_column(Integer, primary_key=True)
    plan_key: Mapped[str] = mapped_column(ForeignKey("plan.key"))


class SearchTable(Base):
    """The last search for other layouts of a job: beside which plan, by which program, and what it told."""

    __tablename__ = "search"

    job_id: Mapped[str] = mapped_column(ForeignKey("job.id"), primary_key=True)
    run: Mapped[str] = mapped_column(String(32))
    number: Mapped[int] = mapped_column(Integer)
    beside: Mapped[str] = mapped_column(String(64))
    program: Mapped[str] = mapped_column(String(64))
    wishes: Mapped[str] = mapped_column(String(64))
    ended_early: Mapped[bool] = mapped_column(Boolean)
    told: Mapped[bytes] = mapped_column(LargeBinary)


class FoundLayoutTable(Base):
    """A layout that a search found, as a plan is made from it."""

    __tablename__ = "found_layout"

    job_id: Mapped[str] = mapped_column(ForeignKey("search.job_id"), primary_key=True)
    id: Mapped[str] = mapped_column(String(32), primary_key=True)
    wishes: Mapped[str] = mapped_column(String(64))
    covering: Mapped[bytes] = mapped_column(LargeBinary)


class WeatherTable(Base):
    """A year of hourly weather that a job's build-ups are compared in."""

    __tablename__ = "weather"

    job_id: Mapped[str] = mapped_column(ForeignKey("job.id"), primary_key=True)
    name: Mapped[str] = mapped_column(String(200))
    digest: Mapped[str] = mapped_column(String(64))
    source: Mapped[str] = mapped_column(Text)
    sent_by: Mapped[str] = mapped_column(Text)
    sent_s: Mapped[int] = mapped_column(BigInteger)
    content: Mapped[bytes] = mapped_column(LargeBinary)


class AccountTable(Base):
    """A person who may log in."""

    __tablename__ = "account"

    name: Mapped[str] = mapped_column(String(80), primary_key=True)
    role: Mapped[str] = mapped_column(String(10))
    password_hash: Mapped[str] = mapped_column(Text)
    active: Mapped[bool] = mapped_column(Boolean, default=True)


class GuestLinkTable(Base):
    """A link that only reads one job. The link itself is not kept, only its hash."""

    __tablename__ = "guest_link"

    id: Mapped[str] = mapped_column(String(32), primary_key=True)
    token_hash: Mapped[str] = mapped_column(String(64), unique=True)
    job_id: Mapped[str] = mapped_column(ForeignKey("job.id"))
    label: Mapped[str] = mapped_column(Text)
    made_by: Mapped[str] = mapped_column(Text)
    made_s: Mapped[int] = mapped_column(BigInteger)
    ends_s: Mapped[int] = mapped_column(BigInteger)


class SessionTable(Base):
    """A log-in that is still good: of a person, or of a guest link."""

    __tablename__ = "session"
    __table_args__ = (Index("ix_session_ends_s", "ends_s"),)

    token_hash: Mapped[str] = mapped_column(String(64), primary_key=True)
    csrf: Mapped[str] = mapped_column(String(64))
    account: Mapped[str | None] = mapped_column(ForeignKey("account.name"))
    guest_link: Mapped[str | None] = mapped_column(ForeignKey("guest_link.id", ondelete="CASCADE"))
    ends_s: Mapped[int] = mapped_column(BigInteger)
