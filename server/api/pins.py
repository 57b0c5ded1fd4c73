"""The PINs in force: hashes only, and which role a PIN makes."""

import asyncio
import secrets
from collections.abc import Collection, Mapping
from itertools import pairwise

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from server.stage.state import ROLES, Role

__all__ = ["Pins", "draw", "hashed", "pins_at_start"]

# One of OWASP's settings for Argon2id (from memory): four passes over 9 MiB, one lane. 20 ms on a laptop, so
# a try over three roles takes 60. Nothing makes four digits hard to find for whoever has the file: the hash
# keeps a PIN from being read in a backup, in a crash report or over a shoulder.
_HASHER = PasswordHasher(time_cost=4, memory_cost=9216, parallelism=1)


def hashed(pin: str) -> str:
    """What is kept of a PIN. Takes tens of milliseconds."""
    return _HASHER.hash(pin)


class Pins:
    """Which PIN makes which role. given: roles whose PIN the settings name.

    A try costs the same whether it is right or wrong, and is made on a thread, one at a time: light is worked
    out on the loop and must never wait for a stranger's guesses.
    """

    def __init__(self, hashes: Mapping[Role, str] | None = None, given: Collection[Role] = ()) -> None:
        self.given = frozenset(given)
        self._hashes = dict(hashes or {})
        self._turn = asyncio.Lock()

    @property
    def roles(self) -> Collection[Role]:
        """Those that a PIN makes."""
        return self._hashes.keys()

    def put(self, role: Role, pin_hash: str) -> None:
        """Let another PIN be in force for a role from now on."""
        self._hashes[role] = pin_hash

    async def role_of(self, pin: str) -> Role | None:
        """The role a PIN makes, or None. Of two roles with one PIN, the one that may do less."""
        async with self._turn:
            return await asyncio.to_thread(_match, dict(self._hashes), pin)

    async def hash(self, pin: str) -> str:
        """What is kept of a PIN."""
        async with self._turn:
            return await asyncio.to_thread(hashed, pin)


def pins_at_start(
    given: Mapping[Role, str], kept: Mapping[Role, str], draws: bool
) -> tuple[dict[Role, str], Pins]:
    """The PINs to show, by role, and those in force: given by the settings, else set by the lead, else drawn.

    kept: hashes of those the lead has set. draws: whether roles without one get one.
    """
    shown = dict(given)
    # One that is given to another role now is that role's; the lead would come in as crew for ever.
    hashes = {
        role: kept[role]
        for role in kept
        if role not in given and not any(_is(kept[role], pin) for pin in given.values())
    }
    for role in ROLES if draws else ():
        while role not in shown and role not in hashes:
            pin = draw(shown.values())
            if _match(hashes, pin) is None:
                shown[role] = pin
    return shown, Pins({**hashes, **{role: hashed(pin) for role, pin in shown.items()}}, given)


def draw(taken: Collection[str] = ()) -> str:
    """Four digits by chance, none of those taken."""
    while True:
        pin = f"{secrets.randbelow(10_000):04}"
        steps = {(int(b) - int(a)) % 10 for a, b in pairwise(pin)}
        # Not 1111, 1234, 9876 or 4747: those are guessed first.
        if pin not in taken and len(set(pin)) >= 3 and len(steps) > 1:
            return pin


def _match(hashes: Mapping[Role, str], pin: str) -> Role | None:
    right = [role for role in ROLES if role in hashes and _is(hashes[role], pin)]  # all of them, always
    return right[-1] if right else None


def _is(pin_hash: str, pin: str) -> bool:
    try:
        return _HASHER.verify(pin_hash, pin)
    except (VerificationError, InvalidHashError):
        return False
