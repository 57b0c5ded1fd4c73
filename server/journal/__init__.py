"""Durable events and snapshots of one show."""

__all__: list[str] = []
