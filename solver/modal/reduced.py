"""The plate live: what its modes become while wood is taken, answered in milliseconds.

The plate moves in the few shapes of `reduced_basis`. Their stiffness and inertia are sums over groups of the plate's
points; a stroke computes those groups anew that it touched, each from the thickness alone, and adds all of them in one
order. So a map gives the same numbers to the last bit however it was reached, and undoing leaves nothing behind.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from scipy.optimize import linear_sum_assignment
from threadpoolctl import threadpool_limits

from solver.core.arrays import Floats, Ints, Singles, freeze, seal
from solver.core.errors import InputError
from solver.core.units import MM
from solver.modal.assembly import ModalModel
from solver.modal.labels import carried_names
from solver.modal.modes import Modes
from solver.modal.reduced_basis import ANSWERED, FINE, STRAINED, ReducedBasis, reduced_basis
from solver.modal.reduced_doubt import UNDRAWN, WEAKEST, ReducedDoubt, expected_excess, reduced_doubt
from solver.modal.reduced_eigen import ReducedPlate
from solver.modal.reduced_filling import reduced_tables
from solver.modal.reduced_section import ReducedSection, reduced_section
from solver.modal.reduced_tables import ReducedTables
from solver.modal.responses import strained_modes
from solver.modal.strains import FIELDS
from solver.modal.sum_tree import SumTree

FEWEST_MODES = 16
"""Modes of the full solve that a reduced model needs."""

MOST_DOUBT = 0.01
"""Share of a frequency; an answer less sure than this is no answer."""

DEEPEST_SHARE = 0.6
"""Share of the thickness beyond which a plate is another plate."""


@dataclass(frozen=True, eq=False)
class LowerTriangles:
    """Places of packed lower triangles in the flattened matrices: ``coarse`` in the stiffness, ``heavy`` in the inertia."""

    coarse: Ints
    heavy: Ints


@dataclass(frozen=True, eq=False)
class ReducedModel:
    """A plate ready to be thinned live.

    ``places`` (p, 2) [m] are where a removal is to be stated, all outside the bar's strip, and ``thickness`` (p,) [m]
    what stands there; ``modes`` are those of the full solve; ``lightening`` (3, p) [kg] is the mass that goes with the
    share taken, its square and its cube. Set one BLAS thread for the process that asks it: two are slower at matrices as
    small as these.
    """

    modes: Modes
    basis: ReducedBasis
    tables: ReducedTables
    doubt: ReducedDoubt
    places: Floats
    lightening: Floats

    def __post_init__(self) -> None:
        p = len(self.thickness)
        freeze(self, places=((p, 2), float), lightening=((3, p), float))

    @property
    def thickness(self) -> Floats:
        """Thickness (p,) [m] of the map as built."""
        return self.tables.thickness

    @property
    def bytes(self) -> int:
        """Memory that the tables and shapes take."""
        held = (*self.tables.kinds, self.basis.shapes, self.doubt.hollows.data, self.doubt.energies)
        return sum(array.nbytes for array in held)

    @cached_property
    def untouched(self) -> "Trial":
        """The plate as built, the start of every trial."""
        removal = np.zeros(len(self.places))
        return Trial(
            self, removal, SumTree.of(self.tables.changes(removal, np.arange(self.tables.patches.groups)))
        )

    @cached_property
    def lower_triangles(self) -> "LowerTriangles":
        """Where the packed triangles fall in the reduced matrices."""
        size, known = len(self.basis.stiffness), 6 + self.basis.modes
        rows, columns = np.tril_indices(size - FINE)
        return LowerTriangles((rows + FINE) * size + columns + FINE, np.flatnonzero(np.tri(known)))


@dataclass(frozen=True, eq=False)
class Trial:
    """A plate thinned on trial: what was taken so far, and what each group adds to the reduced matrices by it.

    ``removal`` (p,) [m] at the model's places, all strokes together; ``sums`` of the groups' changes.
    """

    model: ReducedModel
    removal: Floats
    sums: SumTree

    def __post_init__(self) -> None:
        seal(self, removal=((len(self.model.places),), np.float64))

    def with_removal(self, removal: Floats) -> "Trial":
        """Return the trial in which ``removal`` (p,) [m] is what was taken altogether; only what differs is computed.

        Raises
        ------
        InputError
            If somewhere more than 60 % of the thickness is taken.
        """
        self._check_left(removal)
        tables = self.model.tables
        groups = tables.groups_with(removal != self.removal)
        if not len(groups):
            return self
        sums = self.sums.with_parts(groups.tolist(), tables.changes(removal, groups))
        return Trial(self.model, removal.copy(), sums)

    @cached_property
    def reduced(self) -> ReducedPlate:
        """The thinned plate in the model's shapes."""
        basis, below = self.model.basis, self.model.lower_triangles
        change = self.model.tables.parted(self.sums.total)
        stiffness, inertia, size = basis.stiffness.copy(), basis.inertia.copy(), len(basis.stiffness)
        stiffness[:FINE] += change.fine.reshape(FINE, size)
        stiffness[FINE:, :FINE] = stiffness[:FINE, FINE:].T
        stiffness.ravel()[below.coarse] += change.coarse
        heavy = np.zeros((6 + basis.modes, 6 + basis.modes))
        heavy.ravel()[below.heavy] = change.heavy
        heavy += np.tril(heavy, -1).T
        inertia[: basis.modes, : basis.modes] += heavy[6:, 6:]
        crossing = change.crossing.reshape(FINE, -1)
        inertia[:FINE, basis.modes :] += crossing
        inertia[basis.modes :, :FINE] += crossing.T
        rigid = np.eye(6, 6 + size)
        rigid[:, : 6 + basis.modes] += heavy[:6]
        return ReducedPlate(stiffness, inertia, rigid, basis.withheld, ANSWERED)

    @property
    def hz(self) -> Floats:
        """Frequencies (8,) [Hz] of the thinned plate, lowered by what the model's shapes are expected to lack."""
        excess = expected_excess(self._undrawn)
        return np.asarray(np.sqrt(self.reduced.values) / (2 * np.pi) * (1 - excess))

    @cached_property
    def doubt(self) -> Floats:
        """How far each frequency may be off (8,), as a share of it; see `reduced_doubt`."""
        weakest = 0.5 * (self.reduced.values_without / self.reduced.values - 1)
        return np.asarray(WEAKEST * weakest + UNDRAWN * self._undrawn)

    @property
    def holds(self) -> bool:
        """Whether every frequency is sure to 1 %; if not, the thinned plate wants a full solve and a new live model."""
        return bool(self.doubt.max() < MOST_DOUBT)

    @property
    def mass(self) -> float:
        """Mass [kg] of the thinned plate, with its bar."""
        change = self.model.lightening * np.stack([self._share, self._share**2, self._share**3])
        return float(self.model.modes.mass + change.sum())

    def shapes(self, thickness: Floats) -> Modes:
        """Return the modes as the full solve does, for names, node lines and drawings.

        ``thickness`` (n,) [m] at the nodes of `ReducedModel.modes`, which only who took the wood knows. Shapes face the
        way of the mode before that they most resemble, and bear the numbers of those that they have come from.
        """
        before, known = self.model.modes, len(self.model.modes.hz)
        mixing = self.reduced.vectors[6 : 6 + known] * self._signs
        amplitudes = mixing.T @ before.amplitudes
        came_from, places = linear_sum_assignment(mixing**2, maximize=True)
        names = [before.names[mode] for mode in came_from.tolist()]
        return replace(
            before,
            hz=self.hz,
            names=carried_names(names, places.tolist(), ANSWERED),
            fields=self._fields.astype(np.float64),
            thickness=thickness,
            mass=self.mass,
            seconds={},
            amplitudes=amplitudes,
        )

    @property
    def normal_motion(self) -> Floats:
        """Motion (8, n) along the outward normal [kg^-1/2] at the nodes of `ReducedModel.modes`."""
        return self._along_normal(self._fields)

    @property
    def _fields(self) -> Singles:
        """Freedoms (8, n, 5) at the nodes; a shape faces the way of the mode before that it most resembles."""
        vectors = (self.reduced.vectors * self._signs).astype(np.float32)
        fields = self.model.basis.shapes @ vectors
        return np.asarray(fields.T.reshape(ANSWERED, -1, FIELDS))

    @cached_property
    def _signs(self) -> Floats:
        """Signs (8,) by which each shape faces the way of the mode before that it most resembles."""
        mixing = self.reduced.vectors[6 : 6 + len(self.model.modes.hz)]
        return np.asarray(np.sign(mixing[np.abs(mixing).argmax(axis=0), np.arange(ANSWERED)]))

    def _along_normal(self, fields: Singles | Floats) -> Floats:
        return np.asarray(np.einsum("knc,nc->kn", fields[:, :, :3], self.model.modes.normals))

    @cached_property
    def _undrawn(self) -> Floats:
        return self.model.doubt.undrawn(self._share, self.model.tables.patches.areas)

    @property
    def _share(self) -> Floats:
        """Share (p,) of the thickness that was taken."""
        return np.asarray(self.removal / self.model.thickness)

    def _check_left(self, removal: Floats) -> None:
        """Refuse a removal that the section's cubic does not reach."""
        share = removal / self.model.thickness
        worst = int(share.argmax())
        if share[worst] > DEEPEST_SHARE:
            x, y = self.model.places[worst] / MM
            raise InputError(
                f"removal: {removal[worst] / MM:.2f} mm would go of {self.model.thickness[worst] / MM:.2f} mm "
                f"at x {x:.0f}, y {y:.0f} mm; expected {DEEPEST_SHARE:.0%} at most; "
                "take less, or solve the thinned plate in full"
            )


def reduced_model(model: ModalModel, modes: Modes, section: ReducedSection | None = None) -> ReducedModel:
    """Return the live model of a plate from its full model and the ``modes`` of it, 16 or more (20 serve well).

    Its ``section`` can be made by `reduced_section` while the modes are solved for.

    Raises
    ------
    ValueError
        If there are fewer modes, which is a fault of the caller.
    """
    if len(modes.hz) < FEWEST_MODES:
        raise ValueError(f"{len(modes.hz)} modes; a reduced model needs {FEWEST_MODES}")
    section = section or reduced_section(model)
    shapes, values = modes.fields[:STRAINED].reshape(STRAINED, -1).T, (2 * np.pi * modes.hz[:STRAINED]) ** 2
    with threadpool_limits(1, user_api="blas"):
        strained = strained_modes(model, section, shapes, values)
        basis = reduced_basis(model, modes, section, strained)
        tables, doubt = reduced_tables(model, section, basis), reduced_doubt(section, strained)
    order = section.patches.order
    return ReducedModel(modes, basis, tables, doubt, section.points[order], section.cubic.mass[:, order])
