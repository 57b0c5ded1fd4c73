"""Resolves levels, owns fades, feeds the output process."""

__all__: list[str] = []
