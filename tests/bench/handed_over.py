"""What a piece of the bench's work hands over, kept for a test to look at."""


class Kept:
    """Takes what a piece of work hands over."""

    def __init__(self) -> None:
        self.parts: dict[str, object] = {}

    def say(self, words: str, share: float) -> None:
        assert words
        assert 0 <= share <= 1

    def hand_over(self, name: str, value: object) -> None:
        self.parts[name] = value
