"""Live state: who is here, who holds what, what is asked; commands become events, events become state."""

__all__: list[str] = []
