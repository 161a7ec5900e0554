"""What every table is made of: the metadata with its names, and columns that come often."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Column, ForeignKey, Integer, MetaData
from sqlalchemy.types import TypeEngine

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)


def own_id() -> Column[int]:
    """The table's own number."""
    return Column("id", Integer, primary_key=True)


def to(name: str, target: str, *, nullable: bool = False) -> Column[int]:
    """A column that refers to another table."""
    return Column(name, Integer, ForeignKey(f"{target}.id"), nullable=nullable)


def key_to(name: str, target: str) -> Column[int]:
    """The same, as part of the primary key."""
    return Column(name, Integer, ForeignKey(f"{target}.id"), primary_key=True)


def must(name: str, kind: type[TypeEngine[Any]], *, unique: bool = False) -> Column[Any]:
    """A column that is never empty."""
    return Column(name, kind, nullable=False, unique=unique or None)
