"""HTTP and WebSocket: translate, authorise, delegate."""

__all__: list[str] = []
