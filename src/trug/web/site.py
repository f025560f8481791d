"""What every page works with: database, reasoner, book, and who is looking at it."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from fastapi import Request
from sqlalchemy import select
from sqlalchemy.orm import Session

from trug.determine.confusions import Confusions
from trug.loaded import Loaded
from trug.records.database import Database
from trug.records.reasoning import Reasoner
from trug.records.tables import Person, Setting

__all__ = ["Site", "person_of", "put_setting", "setting", "site_of"]


@dataclass
class Site:
    """The running app's database and reasoning."""

    database: Database
    reasoner: Reasoner
    cache: dict[str, Any] = field(default_factory=dict)

    @property
    def here(self) -> Loaded:
        """Book, vocabulary and compiled table."""
        return self.reasoner.here

    @cached_property
    def confusions(self) -> Confusions:
        """Which fungi are confused with which; worked out when first asked for."""
        return Confusions(self.here.table)


def site_of(request: Request) -> Site:
    """Return the site that a request belongs to."""
    site = request.app.state.site
    assert isinstance(site, Site)
    return site


def setting(session: Session, key: str) -> Any:
    """Return a setting, None where it was never made."""
    return session.scalar(select(Setting.value).where(Setting.key == key))


def put_setting(session: Session, key: str, value: Any) -> None:
    """Make a setting."""
    session.merge(Setting(key=key, value=value))


def person_of(request: Request, session: Session) -> Person | None:
    """Return the person who is using the app: the one chosen in this browser, or the owner; None before set-up."""
    for key in (request.session.get("person"), setting(session, "owner")):
        person = session.get(Person, key) if key else None
        if person is not None and person.deleted_at is None:
            return person
    return None
