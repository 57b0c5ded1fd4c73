"""Which universes of ours a packet of somebody else's is about."""

from collections.abc import Callable, Mapping

from server.engine.routing import Ear
from server.stage.outputs import By

__all__ = ["Ears"]

_MOST_SENDERS = 1024  # kept at once; of IPv6 one machine has as many addresses as it likes


class Ears:
    """By protocol, number on the wire, and the network that the sender is on."""

    def __init__(self) -> None:
        self._heard: Mapping[Ear, tuple[int, ...]] = {}
        self._anywhere: dict[tuple[By, int], tuple[int, ...]] = {}
        self._networks: dict[str, str] = {}  # by sender, as long as nothing has changed
        self._network_of: Callable[[str], str] = lambda _: ""
        self._one_network = True

    def follow(self, heard: Mapping[Ear, tuple[int, ...]], network_of: Callable[[str], str]) -> None:
        """Listen for these from now on. network_of: our address on a sender's network, "" for the main one.

        Called again when there are other networks, too.
        """
        self._heard, self._network_of = heard, network_of
        self._networks.clear()
        self._one_network = not any(ear.interface for ear in heard)
        self._anywhere.clear()
        for (by, number, _), universes in heard.items():
            known = self._anywhere.get((by, number), ())
            self._anywhere[by, number] = (*known, *(each for each in universes if each not in known))

    def universes(self, by: By, number: int, sender: str) -> tuple[int, ...]:
        """Those of ours that go by that number on the sender's network, or else on any.

        What comes by an unlikely way is rather heard than missed.
        """
        anywhere = self._anywhere.get((by, number), ())
        if not anywhere or self._one_network:
            return anywhere
        network = self._networks.get(sender)
        if network is None:
            if len(self._networks) >= _MOST_SENDERS:
                self._networks.clear()
            network = self._networks[sender] = self._network_of(sender)
        return self._heard.get(Ear(by, number, network), anywhere)

    def groups(self) -> dict[str, set[int]]:
        """Universes of sACN to be heard, by our address on that network; "" for the main one."""
        found: dict[str, set[int]] = {"": set()}
        for by, number, interface in self._heard:
            if by == "sacn":
                found.setdefault(interface, set()).add(number)
        return found
