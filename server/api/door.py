"""What every request meets before any route, and what every answer carries."""

from collections.abc import Collection, Mapping
from types import MappingProxyType

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from server.api.origin import is_loopback, is_ours, same_site
from server.api.problems import problem_answer
from server.rig.said import Said

__all__ = ["SAFETY", "Door"]

# No inline script or style anywhere, nothing from elsewhere: a name typed by a person can never become code.
# blob: is a photo just taken, shown before it is sent.
SAFETY = MappingProxyType(
    {
        "Content-Security-Policy": (
            "default-src 'self'; img-src 'self' blob:; object-src 'none'; base-uri 'none'; "
            "form-action 'self'; frame-ancestors 'none'"
        ),
        "X-Content-Type-Options": "nosniff",
        "X-Frame-Options": "DENY",
        "Referrer-Policy": "no-referrer",
        "Cross-Origin-Resource-Policy": "same-origin",
        "Permissions-Policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
    }
)
# Heeded where a browser trusts the name without https; elsewhere it is ignored with an error on the console
# (HTML, 7.1.3: secure contexts only; seen in Chromium).
ALONE = MappingProxyType({"Cross-Origin-Opener-Policy": "same-origin"})
READING = ("GET", "HEAD", "OPTIONS")


class Door:
    """The application as it is served: asked by a name of ours, and from a page of ours."""

    def __init__(self, app: ASGIApp, names: Collection[str]) -> None:
        """names: what this machine is called, in small letters; see origin.names_here."""
        self._app, self._names = app, names

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request, one socket, or the start and end of it all."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        safe = _safe(send, {**SAFETY, **ALONE} if is_loopback(headers.get("host", "")) else SAFETY)
        if refused := self._refused(scope, headers):
            status, why = refused
            await problem_answer(status, why, {"said": why.parts()})(scope, receive, safe)
        else:
            await self._app(scope, receive, safe)

    def _refused(self, scope: Scope, headers: Headers) -> tuple[int, Said] | None:
        host, origin = headers.get("host", ""), headers.get("origin")
        if not is_ours(host, self._names):
            # RFC 9110, 15.5.20: asked by a name that this server does not answer for.
            return 421, Said(
                "This laptop is not called {host}. Open the address it shows, or add the name to names in "
                "settings.toml.",
                host=host[:80] or "nothing",
            )
        changes = scope["type"] == "websocket" or scope["method"] not in READING
        if changes and origin is not None and not same_site(origin, host):
            return 403, Said("A page of another site asked for that. Open the address that the laptop shows.")
        return None


def _safe(send: Send, careful: Mapping[str, str]) -> Send:
    """Sends on, with these headers on every answer; what does not say otherwise is kept by nobody."""

    async def sent(message: Message) -> None:
        if message["type"] in ("http.response.start", "websocket.http.response.start"):
            message.setdefault("headers", [])
            headers = MutableHeaders(scope=message)
            headers.update(careful)
            headers.setdefault("Cache-Control", "no-store")
        await send(message)

    return sent
