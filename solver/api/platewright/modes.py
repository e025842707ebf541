"""The free modes of a plate."""

from dataclasses import dataclass, field

from platewright.plates import Plate
from platewright.shown import as_html, fields_of
from solver.advice.forecast import Forecast
from solver.commands.belief import solve_as_expected
from solver.commands.tones import tones_as_table
from solver.core.errors import InputError
from solver.modal.modes import Modes as SolverModes


@dataclass(frozen=True, eq=False)
class Modes(SolverModes):
    """The modes of a ``plate`` in order of frequency; ``forecast`` holds their 95 % intervals once its wood was fitted.

    ``hz`` (k,) [Hz] are the frequencies, ``names`` the trade's numbers or None.
    """

    plate: Plate = field(kw_only=True)
    forecast: Forecast | None = field(kw_only=True)

    def hz_of(self, name: str) -> float:
        """Return the frequency [Hz] of the mode with one of the trade's numbers.

        Raises InputError if no tone has that number.

        >>> from platewright import new_plate
        >>> modes = solve_modes(new_plate("tapped-panel", like="panel"), count=3)
        >>> modes.hz_of("2") == float(modes.hz[modes.names.index("2")])
        True
        """
        if name not in self.names:
            there = ", ".join(number for number in self.names if number) or "none"
            raise InputError(
                f'The mode "{name}" is not among those computed; expected one of: {there}. Compute more, or '
                "take a tone by its place in hz."
            )
        return float(self.hz[self.names.index(name)])

    def _repr_html_(self) -> str:
        return as_html(tones_as_table(self, self.forecast))


def solve_modes(plate: Plate, count: int = 8) -> Modes:
    """Return the ``count`` lowest free modes of a plate, at the frequencies expected where its wood was fitted.

    Raises
    ------
    InputError
        If ``count`` is not 1 to 40, or no sound mesh can be made.

    >>> from platewright import new_plate
    >>> solve_modes(new_plate("free-panel", like="panel"), count=4).hz.shape
    (4,)
    """
    solved, forecast = solve_as_expected(plate.source, plate, count)
    return Modes(**fields_of(solved), plate=plate, forecast=forecast)
