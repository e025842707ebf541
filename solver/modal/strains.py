"""Strains of the shell from its five fields.

A point of the plate at distance xi from the outer surface, measured along the outward normal n (so xi < 0 in the
wood), moves by ``U = u + xi w`` with ``w = theta x n`` and ``theta = (theta_x, theta_y, 0)``: five fields, no drilling
freedom. About the middle xi0 of a layer of thickness h, with base vectors ``g_a = X_a + xi0 n_a``, ``g_3 = n``, their
duals ``g^i``, the turning ``L_ab = g^a . n_b``, ``V_a = u_a + xi0 w_a``, ``V_3 = w`` and ``W_b = w_b - L_ab V_a``
(a, b = 1, 2), the strain at height zeta over the middle is

    sym(V_i (x) g^i) + zeta sym(W_b (x) g^b) - zeta^2 sym(W_a L_ab (x) g^b) + ...

and an element of volume is ``1 + zeta tr L`` times that of the middle. To this order the energy is that of

    stretch and shear, mean over the thickness    e = sym((V_b + h^2/12 (tr L W_b - L_ab W_a)) (x) g^b) + sym(w (x) n)
    bending, change of strain with height         k = sym(W_b (x) g^b)

Leaving out the part of ``V_a`` in W lowers the higher modes of a strongly arched plate by 0.2 %, leaving out the part with
h^2/12 by 0.1 %. Both strains are resolved along an orthonormal frame (t1, t2, t3) whose t3 is normal to the layer's own
middle surface, where the stress across the plate vanishes; that is how the slope of the thickness enters (0.1 to 0.5 % on
the same plate). The kinematics are those of Naghdi's shell with one inextensible director (P. M. Naghdi, The Theory of
Shells and Plates, Handbuch der Physik VIa/2, 1972).
"""

from dataclasses import dataclass

import numpy as np

from solver.core.arrays import Floats
from solver.modal.surface import Surface

FIELDS = 5
"""Fields per node: u_x, u_y, u_z [m], theta_x, theta_y [rad]."""

_STRETCH_PAIRS = ((0, 0), (1, 1), (0, 1), (1, 2), (0, 2))
_BEND_PAIRS = ((0, 0), (1, 1), (0, 1))


@dataclass(frozen=True, eq=False)
class Middle:
    """Middle surface of one layer at p points.

    ``depth`` xi0 (p,) [m] below zero inside the wood, ``slope`` (p, 2) [-] its plan gradient, ``thickness`` h (p,) [m].
    ``heading`` (2,) is the direction in plan that t1 of the frame follows.
    """

    depth: Floats
    slope: Floats
    thickness: Floats
    heading: Floats


def base_vectors(surface: Surface, middle: Middle) -> Floats:
    """Return g_1, g_2, g_3 (p, 3, 3), one per row, at the layer's middle."""
    in_plane = surface.tangents + middle.depth[:, None, None] * surface.normal_change
    return np.concatenate([in_plane, surface.normal[:, None, :]], axis=1)


def layer_frame(surface: Surface, middle: Middle) -> Floats:
    """Return the orthonormal frame t1, t2, t3 (p, 3, 3), one per row, of the layer's middle surface."""
    tangents = base_vectors(surface, middle)[:, :2] + middle.slope[:, :, None] * surface.normal[:, None, :]
    up = np.cross(tangents[:, 0], tangents[:, 1])
    up /= np.linalg.norm(up, axis=1, keepdims=True)
    first = np.einsum("a,pak->pk", middle.heading, tangents)
    first /= np.linalg.norm(first, axis=1, keepdims=True)
    return np.stack([first, np.cross(up, first), up], axis=1)


def director_motion(surface: Surface) -> tuple[Floats, Floats]:
    """Return w per unit theta_x, theta_y (p, 2, 3) and its plan derivatives (p, 2, 2, 3): field, direction, component."""
    axes = np.eye(3)[:2]
    return (
        np.cross(axes[None], surface.normal[:, None, :]),
        np.cross(axes[None, :, None], surface.normal_change[:, None, :, :]),
    )


def strain_operators(
    surface: Surface, middle: Middle, frame: Floats, values: Floats, gradients: Floats
) -> tuple[Floats, Floats]:
    """Return the operators from an element's 50 freedoms to strains at p points.

    ``values`` (p, 10) and ``gradients`` (p, 10, 2) are the shape functions. The first result (p, 5, 50) gives stretch
    11, 22, 2*12 and shear 2*23, 2*13 [-]; the second (p, 3, 50) bending 11, 22, 2*12 [1/m]. Freedoms run over the nodes,
    five fields at each.
    """
    base = base_vectors(surface, middle)
    resolve = frame @ np.linalg.inv(base)  # [a, i] = t_a . g^i
    turned, moved = _field_derivatives(surface, middle, values, gradients)
    turning = np.einsum("pia,pbi->pab", np.linalg.inv(base)[:, :, :2], surface.normal_change)
    turned -= np.einsum("paknf,pab->pbknf", moved[:, :2], turning)
    evened = np.trace(turning, axis1=1, axis2=2)[:, None, None] * np.eye(2) - turning
    moved[:, :2] += np.einsum("p,pab,paknf->pbknf", middle.thickness**2 / 12, evened, turned)
    stretch = _resolved(resolve, _STRETCH_PAIRS) @ _along(frame, moved)
    bend = _resolved(resolve[:, :, :2], _BEND_PAIRS) @ _along(frame, turned)
    return stretch, bend


def _along(frame: Floats, derivatives: Floats) -> Floats:
    """Components ``t_a . V_j`` (p, 3 j, 50) of derivatives (p, j, 3, 10, 5), a and j flattened."""
    p, j = derivatives.shape[:2]
    return np.asarray(np.einsum("pak,pjknf->pajnf", frame, derivatives).reshape(p, 3 * j, -1))


def _field_derivatives(
    surface: Surface, middle: Middle, values: Floats, gradients: Floats
) -> tuple[Floats, Floats]:
    """Return w_b (p, 2, 3, 10, 5) and V_j (p, 3, 3, 10, 5): direction, component, node, field."""
    p = len(values)
    director, director_change = director_motion(surface)
    turned = np.zeros((p, 2, 3, values.shape[1], FIELDS))
    turned[..., 3:] = np.einsum("pnb,pfk->pbknf", gradients, director)
    turned[..., 3:] += np.einsum("pn,pfbk->pbknf", values, director_change)
    moved = np.zeros((p, 3, 3, values.shape[1], FIELDS))
    moved[:, :2] = middle.depth[:, None, None, None, None] * turned
    for k in range(3):
        moved[:, :2, k, :, k] += np.swapaxes(gradients, 1, 2)
    moved[:, 2, :, :, 3:] = np.einsum("pn,pfk->pknf", values, director)
    return turned, moved


def _resolved(resolve: Floats, pairs: tuple[tuple[int, int], ...]) -> Floats:
    """Matrix (p, c, 3 j) from ``t_a . V_j`` (a, j flattened) to engineering strains along the frame."""
    p, _, j = resolve.shape
    out = np.zeros((p, len(pairs), 3, j))
    for c, (a, b) in enumerate(pairs):
        out[:, c, a, :] += resolve[:, b]
        if a != b:
            out[:, c, b, :] += resolve[:, a]
    return out.reshape(p, len(pairs), 3 * j)
