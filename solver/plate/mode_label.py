"""What a tone is called: by the trade's number, or by its place where it has none."""

NUMBERS = ("1", "2", "3", "4", "5")
"""The trade's numbers, each of which stands for a shape."""

WISHED = ("1", "2", "5")
"""Those that makers tune by: every plate of the violin family has them."""


def tone_key(name: str | None, place: int) -> str:
    """Return what a tone is known by: the trade's number, or ``#`` and its order."""
    return name or f"#{place + 1}"


def key_called(key: str) -> str:
    """Return what a tone known by such a key is called: "mode 5", or "6th tone" where the trade has no number."""
    return f"{ordinal(int(key[1:]))} tone" if key.startswith("#") else f"mode {key}"


def called(name: str | None, place: int) -> str:
    """Return "mode 5" or, where the trade has no number, what place by pitch a tone has: "6th tone" for ``place`` 5."""
    return key_called(tone_key(name, place))


def ordinal(number: int) -> str:
    """Return a number as it is said of a place: "1st", "6th"."""
    last = {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{'th' if 10 <= number % 100 <= 20 else last}"
