"""What a trial takes after its strokes, kept for the last ones and now and then before: undoing goes out from there."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from solver.bench.live import LiveBench, Taken
from solver.plate_folder.trial_schema import StrokeTable
from solver.plate_folder.trials import stroke_removal

EVERY = 25
"""As many steps are kept on both sides of the one worked at, of all others each that is a multiple of it: 0.3 MB a step."""


@dataclass(eq=False)
class TrialSteps:
    """The steps of one trial on a bench; ``start`` is what it takes before its first stroke."""

    bench: LiveBench
    start: Taken
    _known: dict[int, Taken] = field(default_factory=dict)

    def after(self, strokes: Sequence[StrokeTable]) -> Taken:
        """Return what is taken after these strokes, of which those known before are the first."""
        nearest = max((count for count in self._known if count <= len(strokes)), default=0)
        taken = self._known.get(nearest, self.start)
        is_far = len(strokes) - nearest > EVERY  # as when it is opened: nobody may ever take its strokes back
        for count, stroke in enumerate(strokes[nearest:], nearest + 1):
            taken = self.bench.after(taken, stroke_removal(stroke))
            if not is_far or count % EVERY == 0 or count == len(strokes):
                self._keep(count, taken)
        return taken

    def follow(self, count: int, taken: Taken) -> None:
        """Take over what is taken after stroke ``count``; what came after the one before is no more."""
        self._known = {known: step for known, step in self._known.items() if known < count}
        self._keep(count, taken)

    def _keep(self, count: int, taken: Taken) -> None:
        self._known[count] = taken
        self._known = {
            known: step
            for known, step in self._known.items()
            if known % EVERY == 0 or abs(known - count) <= EVERY
        }
