"""Profiles, fixtures, universes and level arithmetic: pure, imports nobody."""

__all__: list[str] = []
