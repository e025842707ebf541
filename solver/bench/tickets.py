"""Tickets into the bench: a browser brings one at its start, and gets the key of this start for it, once."""

import hmac
import secrets
import threading
from collections.abc import Callable

from solver.core.errors import InputError

USED = (
    "This address was used already, or is from an earlier start; expected a new one, for each opens the bench once. "
    "Go on in the window that it opened, or open the address that the terminal of the bench shows now. "
    "If none of your windows used it, stop the bench with Ctrl-C and start it again."
)


class Tickets:
    """The tickets that are still good; ``on_use`` is told of each that was used."""

    def __init__(self) -> None:
        """Begin without any."""
        self.on_use: Callable[[str], None] = lambda _: None
        self._good: set[str] = set()
        self._lock = threading.Lock()

    def issue(self) -> str:
        """Return a new ticket."""
        ticket = secrets.token_urlsafe(32)
        with self._lock:
            self._good.add(ticket)
        return ticket

    def use(self, ticket: str) -> None:
        """Take a ticket, which is good no more; raises InputError for any that is not good."""
        shown = ticket.encode("utf-8", "replace")
        with self._lock:
            found = next((one for one in self._good if hmac.compare_digest(one.encode(), shown)), None)
            if found is None:
                raise InputError(USED)
            self._good.remove(found)
        self.on_use(found)
